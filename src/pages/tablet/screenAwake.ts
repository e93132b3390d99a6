/** Keeps the screen on while the card is shown, where the browser lets a page do that (never over plain http). */
export type AwakeScreen = { readonly isKept: boolean; release(): void };

export function canKeepAwake(): boolean {
	return 'wakeLock' in navigator;
}

/** To be called in the tap. The lock falls away whenever the page is hidden, and is asked for again when it is back. */
export async function keepAwake(): Promise<AwakeScreen> {
	let lock = await ask();
	const again = async (): Promise<void> => {
		if (!document.hidden) lock = await ask();
	};
	document.addEventListener('visibilitychange', again);
	return {
		isKept: lock !== null,
		release() {
			document.removeEventListener('visibilitychange', again);
			void lock?.release();
		},
	};
}

async function ask(): Promise<WakeLockSentinel | null> {
	if (!canKeepAwake()) return null;
	return navigator.wakeLock.request('screen').catch(() => null);
}
