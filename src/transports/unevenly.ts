/**
 * Again and again at uneven spacing. Work of our own that came round every second would stand in the delays as a period of one second, and be
 * looked for, and found, in the air.
 */

/** From half to one and a half of the mean, drawn anew each time. Gives back how to stop. */
export function repeatUnevenly(
	meanMs: number,
	work: () => void,
	draw: () => number = Math.random,
): () => void {
	const wait = (): NodeJS.Timeout =>
		setTimeout(
			() => {
				timer = wait();
				work();
			},
			meanMs * (0.5 + draw()),
		);
	let timer = wait();
	return () => clearTimeout(timer);
}
