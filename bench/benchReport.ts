/** What every bench prints round its figures: where it ran, how busy the machine was, and plain tables within 100 columns. */
import { execFileSync } from 'node:child_process';
import { cpus, loadavg } from 'node:os';
import { quantileSorted, sortSamples } from '../src/statistics/quantile.ts';

export type BenchContext = {
	/** Short commit, with a plus sign when the tree holds more than it; `unknown` outside a repository. */
	readonly commit: string;
	readonly node: string;
	readonly cpu: string;
	/** One-minute load average, to two places. */
	readonly loadAverage: number;
};

export function benchContext(): BenchContext {
	return {
		commit: commitNow(),
		node: process.version,
		cpu: `${cpus().length} x ${cpus()[0]?.model.trim() ?? 'unknown'}`,
		loadAverage: Math.round(loadavg()[0]! * 100) / 100,
	};
}

/** Prints rows under a heading row made of the first row's keys; numbers stand to the right. */
export function printTable(rows: readonly Readonly<Record<string, string | number>>[]): void {
	const first = rows[0];
	if (first === undefined) return;
	const keys = Object.keys(first);
	const widths = keys.map((key) => Math.max(key.length, ...rows.map((row) => String(row[key] ?? '').length)));
	const line = (cells: readonly (string | number)[]): string =>
		cells
			.map((cell, i) =>
				typeof cell === 'number' || i > 0
					? String(cell).padStart(widths[i]!)
					: String(cell).padEnd(widths[i]!),
			)
			.join('  ');
	console.log(line(keys));
	for (const row of rows) console.log(line(keys.map((key) => row[key] ?? '')));
}

/** Throws for none. */
export function median(values: readonly number[]): number {
	return quantileSorted(sortSamples([...values]), 0.5);
}

function commitNow(): string {
	try {
		const git = (...words: string[]): string => execFileSync('git', words, { encoding: 'utf8' }).trim();
		return git('rev-parse', '--short', 'HEAD') + (git('status', '--porcelain', '-uno') === '' ? '' : '+');
	} catch {
		return 'unknown';
	}
}
