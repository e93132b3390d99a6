/** Progress on stderr: a bar that redraws in place on a terminal, and a line now and then where there is none. */
const BAR_COLUMNS = 28;
const QUIET_STEP = 0.25;

export type Progress = { show(shareRatio: number, text: string): void; end(): void };

export function openProgress(stream: NodeJS.WriteStream, columns = 80): Progress {
	let lastQuiet = Number.NEGATIVE_INFINITY;
	let lastText = '';
	const live = stream.isTTY === true;
	return {
		show(shareRatio, text) {
			const share = Math.min(Math.max(shareRatio, 0), 1);
			if (live) {
				const filled = Math.round(share * BAR_COLUMNS);
				const bar = `${'#'.repeat(filled)}${'.'.repeat(BAR_COLUMNS - filled)}`;
				stream.write(`\r${`[${bar}] ${text}`.slice(0, columns - 1).padEnd(columns - 1)}`);
			} else if (share - lastQuiet >= QUIET_STEP || text !== lastText) {
				if (share - lastQuiet >= QUIET_STEP) {
					stream.write(`${Math.round(share * 100)} % ${text}\n`);
					lastQuiet = share;
				}
				lastText = text;
			}
		},
		end() {
			if (live) stream.write(`\r${' '.repeat(columns - 1)}\r`);
		},
	};
}
