/** Small clips made for the tests: the luma of each picture says which one it is. */
import { spawnSync } from 'node:child_process';
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { ClipSource } from '../../src/imaging/clipFrame.ts';
import { createPlanes } from '../../src/imaging/planes.ts';
import { type ClipPlan, openClipWriter } from '../../src/media/node/clipWriter.ts';

// The AV1 encoder would write its settings on stderr.
process.env['SVT_LOG'] = '-1';

export const HAS_FFMPEG = ['ffmpeg', 'ffprobe'].every((tool) => spawnSync(tool, ['-version']).status === 0);

export function newFolder(): string {
	return mkdtempSync(join(tmpdir(), 'steerworthy-test-'));
}

/** Uneven: 0, 41, 82, 100, 141, … ms. */
export function unevenTicks(picture: number): number {
	return picture * 3000 + (picture % 3) * 700;
}

/** 96 x 64 px, luma 40 + 4 i, Cr 100. Gives the path. */
export async function writeMadeClip(
	name: string,
	plan: Partial<ClipPlan> = {},
	ticks: readonly number[] = Array.from({ length: 40 }, (_, i) => unevenTicks(i)),
): Promise<string> {
	const path = join(newFolder(), name);
	const writer = await openClipWriter(path, { widthPx: 96, heightPx: 64, rateHz: 30, ...plan });
	for (const [i, at] of ticks.entries()) {
		const planes = createPlanes(96, 64);
		planes.y.fill(40 + ((4 * i) % 200));
		planes.u.fill(128);
		planes.v.fill(100);
		writer.write(planes, at);
	}
	writer.close();
	return path;
}

export type Seen = { readonly ticks: number; readonly luma: number; readonly v: number | null };

export async function readAll(source: ClipSource): Promise<Seen[]> {
	const seen: Seen[] = [];
	for await (const frame of source.frames()) {
		const { data, stride } = frame.luma;
		seen.push({ ticks: frame.ticks, luma: data[30 * stride + 50]!, v: frame.planes()?.v[9] ?? null });
	}
	source.close();
	return seen;
}
