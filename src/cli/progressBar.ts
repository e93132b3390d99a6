/** Progress on stderr: a bar that redraws in place on a terminal, and a line now and then where there is none. */
const BAR_COLUMNS = 28;
/** Without a terminal: a line for each quarter, and one where a quarter takes long, for the page that passes these words on. */
const QUIET_STEP = 0.25;
const QUIET_MS = 10_000;

export type Progress = { show(shareRatio: number, text: string): void; end(): void };

export function openProgress(
	stream: NodeJS.WriteStream,
	columns = 80,
	now = () => performance.now(),
): Progress {
	let lastShare = Number.NEGATIVE_INFINITY;
	let lastMs = Number.NEGATIVE_INFINITY;
	const live = stream.isTTY === true;
	return {
		show(shareRatio, text) {
			const share = Math.min(Math.max(shareRatio, 0), 1);
			if (live) {
				const filled = Math.round(share * BAR_COLUMNS);
				const bar = `${'#'.repeat(filled)}${'.'.repeat(BAR_COLUMNS - filled)}`;
				stream.write(`\r${`[${bar}] ${text}`.slice(0, columns - 1).padEnd(columns - 1)}`);
			} else if (share - lastShare >= QUIET_STEP || now() - lastMs >= QUIET_MS) {
				stream.write(`${Math.round(share * 100)} % ${text}\n`);
				lastShare = share;
				lastMs = now();
			}
		},
		end() {
			if (live) stream.write(`\r${' '.repeat(columns - 1)}\r`);
		},
	};
}
