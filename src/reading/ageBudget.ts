/**
 * How far a clip's mean age may be off, by cause (estimators.md A6, A7). What is fitted away leaves a small rest; what is not stays
 * with its full amplitude, less what whole beats take away.
 *
 * content  scope's exposures against the laptop's refresh: a(P/m, E)
 * laptop   phone's exposures against the laptop's refresh: a(P/m, E)
 * change   tablet's changes against the phone's frames: a(dt, E)
 * reading  noise of the vectors, over all frames
 */
import type { Cadence } from './cadence.ts';
import { beatFactor, findBeat, lockAmplitude } from './phaseLock.ts';
import type { Staircase } from './staircase.ts';

/** An exposure that nothing tells is taken to be this short (estimators.md A6). */
const UNKNOWN_EXPOSURE_MS = 1;
/** A fitted exposure holds the crystal's share too; this much of it is taken for the shutter's. */
const SHUTTER_SHARE = 0.6;
/** What a clock fit leaves, standard uncertainty in ticks (bench/optical.ts holds it against truth). */
const FIT_REST_TICKS = 0.012;

export type BudgetLine = { readonly name: string; readonly halfWidthMs: number; readonly source: string };
export type Budget = {
	readonly lines: readonly BudgetLine[];
	/** Standard uncertainty of the clip's mean age: half-widths over sqrt 3, in quadrature. */
	readonly standardMs: number;
};

export type LockInput = {
	readonly tickMs: number;
	readonly frameMs: number;
	readonly frames: number;
	/** Null: refused, or not enough of the phase seen. */
	readonly laptop: Staircase | null;
	readonly laptopTicksPerFrame: number;
	readonly content: Staircase | null;
	readonly cadence: Cadence | null;
	/** When the tablet's pictures changed, for the phase of change against frame. */
	readonly changesMs: readonly number[];
	readonly noiseTicks: number;
};

export function lockBudget(input: LockInput): Budget {
	const lines = [contentLine(input), laptopLine(input), changeLine(input), readingLine(input)];
	const variance = lines.reduce((sum, { halfWidthMs }) => sum + halfWidthMs ** 2 / 3, 0);
	return { lines, standardMs: Math.sqrt(variance) };
}

function contentLine({ content, cadence, tickMs }: LockInput): BudgetLine {
	if (content !== null) return restLine('content phase', tickMs, content);
	const name = 'content phase';
	if (cadence === null || !cadence.stable)
		return {
			name,
			halfWidthMs: amplitudeMs(tickMs, UNKNOWN_EXPOSURE_MS),
			source: 'scope without a cadence; exposure unknown',
		};
	const count = cadence.slots.at(-1)! + 1;
	const { parts, cycles } = findBeat(cadence.slotTicks, count);
	const halfWidthMs = amplitudeMs(tickMs / parts, UNKNOWN_EXPOSURE_MS) * beatFactor(cycles);
	return {
		name,
		halfWidthMs,
		source: `scope against screen, ${cycles.toFixed(1)} beats seen; exposure unknown`,
	};
}

function laptopLine({ laptop, laptopTicksPerFrame, frames, tickMs }: LockInput): BudgetLine {
	if (laptop !== null) return restLine('laptop phase', tickMs, laptop);
	const { parts, cycles } = findBeat(laptopTicksPerFrame, frames);
	const halfWidthMs = amplitudeMs(tickMs / parts, UNKNOWN_EXPOSURE_MS) * beatFactor(cycles);
	return {
		name: 'laptop phase',
		halfWidthMs,
		source: `phone against screen, ${cycles.toFixed(1)} beats seen; exposure unknown`,
	};
}

/** Spread of the changes over the frame's phase takes the amplitude down as the length of their mean direction. */
function changeLine({ laptop, changesMs, frameMs, tickMs }: LockInput): BudgetLine {
	const shutterMs = laptop === null ? UNKNOWN_EXPOSURE_MS : SHUTTER_SHARE * laptop.exposureTicks * tickMs;
	const amplitude = amplitudeMs(frameMs, Math.max(UNKNOWN_EXPOSURE_MS, shutterMs));
	const clumped = changesMs.length < 20 ? 1 : meanDirection(changesMs, frameMs);
	return {
		name: 'change phase',
		halfWidthMs: amplitude * clumped,
		source: `tablet against phone, ${Math.round(100 * clumped)} % in step`,
	};
}

function readingLine({ noiseTicks, tickMs, frames }: LockInput): BudgetLine {
	// Six words on 21 pairs: about 1.3 ticks for a noise of one (estimators.md A3), and neighbouring frames share some of it.
	const standard = (1.3 * noiseTicks * tickMs) / Math.sqrt(frames / 4);
	return { name: 'reading noise', halfWidthMs: standard * Math.sqrt(3), source: 'residuals of the readings' };
}

function restLine(name: string, tickMs: number, { coverage, ambiguityTicks }: Staircase): BudgetLine {
	// Half the phase seen leaves some three times as much as all of it (estimators.md A6: a rough border).
	const factor = 1 + 4 * (1 - coverage) ** 2;
	const halfWidthMs = Math.max(Math.sqrt(3) * FIT_REST_TICKS * factor, ambiguityTicks) * tickMs;
	return { name, halfWidthMs, source: `clock fit over ${Math.round(100 * coverage)} % of the phase` };
}

function amplitudeMs(latticeMs: number, exposureMs: number): number {
	return lockAmplitude(latticeMs, exposureMs);
}

function meanDirection(instantsMs: readonly number[], periodMs: number): number {
	let [x, y] = [0, 0];
	for (const instant of instantsMs) {
		x += Math.cos((2 * Math.PI * instant) / periodMs);
		y += Math.sin((2 * Math.PI * instant) / periodMs);
	}
	return Math.hypot(x, y) / instantsMs.length;
}
