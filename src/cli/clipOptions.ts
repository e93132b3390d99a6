/** What the commands that read clips share: where the run goes, which decoder reads, and how far the reading has come. */
import { basename } from 'node:path';
import { type Command, Option } from 'commander';
import { CLIP_DECODERS, type ClipDecoder } from '../media/node/clip.ts';
import { monotonicMs } from '../transports/monotonic.ts';
import { openProgress } from './progressBar.ts';
import { RUNS_FOLDER } from './runsCommand.ts';

export type ClipOptions = {
	readonly decoder: ClipDecoder;
	readonly place?: string;
	readonly name?: string;
	readonly out: string;
};

export function addClipOptions(command: Command): Command {
	return command
		.addOption(
			new Option('--decoder <name>', 'who reads the file: the codec package, or ffmpeg on the PATH')
				.choices(CLIP_DECODERS)
				.default('auto'),
		)
		.option('--place <text>', 'where this was made')
		.option('--name <text>', 'name of the run folder')
		.option('--out <folder>', 'where runs are kept', RUNS_FOLDER);
}

/** Whether a dark view slows the camera is told by two clips: the bright one kept as a run, the dim one set beside it with --reference. */
export function addLightOption(command: Command): Command {
	return command.addOption(
		new Option(
			'--light <word>',
			'how much light the scope saw by; set the dim clip beside the bright run',
		).choices(['bright', 'dim']),
	);
}

/** A forecast from less than this share of the file would jump about. */
const FORECAST_FROM = 0.02;

/** Progress over one file, with the time left. */
export function readingProgress(path: string) {
	const bar = openProgress(process.stderr);
	const startedMs = monotonicMs();
	const name = basename(path);
	let lastShare = -1;
	return {
		show(shareRatio: number, atMs: number): void {
			const share = Math.min(1, shareRatio);
			if (share - lastShare < 0.01) return;
			lastShare = share;
			const spentSeconds = (monotonicMs() - startedMs) / 1000;
			const left =
				share >= FORECAST_FROM ? `, ${Math.ceil((spentSeconds * (1 - share)) / share)} s left` : '';
			bar.show(share, `reading ${name}: ${(atMs / 1000).toFixed(0)} s of it${left}`);
		},
		end: () => bar.end(),
	};
}
