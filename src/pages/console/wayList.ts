/** The laptop's networks as a list to choose from; made anew only when they changed, so that nobody's choice jumps away. */
import type { ConsoleState } from '../../protocol/console.ts';
import { element, make, setHidden } from './elements.ts';

const KIND_WORDS = {
	real: '',
	virtual: ' (virtual)',
	thisComputer: ' (this computer only, for a trial)',
} as const;
let shownWays = '';

/** In the parts `ways` and `doorForm`. */
export function showWays({ ways, door }: ConsoleState): void {
	const now = JSON.stringify(ways);
	if (now === shownWays) return;
	shownWays = now;
	const before = chosen('way') ?? door?.address ?? ways[0]?.address;
	const fields = element('ways', HTMLElement);
	for (const label of fields.querySelectorAll('label')) label.remove();
	for (const { name, address, kind } of ways)
		fields.append(radio('way', address, `${name}: ${address}${KIND_WORDS[kind]}`, address === before));
	setHidden('doorForm', ways.length === 0);
}

export function radio(name: string, value: string, words: string, checked: boolean): HTMLLabelElement {
	const label = make('label', '', 'tick');
	const input = document.createElement('input');
	Object.assign(input, { type: 'radio', name, value, checked });
	label.append(input, words);
	return label;
}

export function chosen(name: string): string | null {
	const input = document.querySelector(`input[name="${name}"]:checked`);
	return input instanceof HTMLInputElement ? input.value : null;
}
