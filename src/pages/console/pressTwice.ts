/** A button that acts on its second press: the first one arms it for five seconds and says so. */
const ARMED_MS = 5000;

type Means = {
	readonly armed: string;
	readonly hint: (text: string) => void;
	readonly action: () => void;
};

export function pressTwice(button: HTMLButtonElement, { armed, hint, action }: Means): void {
	const words = button.textContent ?? '';
	let timer: number | null = null;
	const disarm = (): void => {
		if (timer !== null) window.clearTimeout(timer);
		timer = null;
		button.textContent = words;
		button.classList.remove('armed');
		hint('');
	};
	button.onclick = () => {
		if (timer !== null) {
			disarm();
			action();
			return;
		}
		button.textContent = armed;
		button.classList.add('armed');
		hint('What was observed is kept and judged as far as it goes.');
		timer = window.setTimeout(disarm, ARMED_MS);
	};
}
