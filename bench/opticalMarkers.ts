/**
 * Single pictures of a marker, read by a reader that knows nothing beforehand: how many are read, how many wrongly (by more than the tablet's lag
 * allows), over size, blur, noise, tilt, lens, contrast and shake of exposure. Goals: none read wrongly; all read where the set-up asks people to be.
 *
 *     npx tsx bench/opticalMarkers.ts [--quick] [--json]
 */
import type { OpticalView } from '../src/simulation/opticalPixels.ts';
import { decode } from '../tests/reading/singleMarker.ts';
import { benchContext, printTable } from './benchReport.ts';

type Step = {
	readonly name: string;
	readonly tablet: Partial<OpticalView['tablet']>;
	readonly view?: Partial<OpticalView>;
	/** Within what the set-up asks for, so that all must be read. */
	readonly must: boolean;
};

const usual = { blurPx: 0.8, noise: 4 };
const STEPS: readonly Step[] = [
	...[28, 33, 40, 48, 66, 100].map((sidePx) => ({
		...{ name: `${sidePx} px wide`, tablet: { sidePx }, view: usual, must: sidePx >= 48 },
	})),
	...[2, 3, 4, 6].map((blurPx) => ({
		...{ name: `blur ${blurPx} px on 110`, tablet: { sidePx: 110 }, view: { blurPx }, must: blurPx <= 3 },
	})),
	...[8, 16, 30, 60].map((noise) => ({
		...{ name: `noise ${noise} on 110`, tablet: { sidePx: 110 }, view: { noise }, must: noise <= 16 },
	})),
	...[0.3, 0.5, 0.7].map((tilt) => ({
		...{ name: `tilt ${tilt} on 110`, tablet: { sidePx: 110, tilt }, must: tilt <= 0.5 },
	})),
	...[0.2, 0.4, 0.6].map((barrel) => ({
		...{ name: `barrel ${barrel} on 110`, tablet: { sidePx: 110, barrel }, must: barrel <= 0.4 },
	})),
	...(
		[
			[90, 140],
			[95, 125],
			[100, 112],
		] as const
	).map(([black, white]) => ({
		...{
			name: `codes ${black} to ${white}`,
			tablet: { sidePx: 110, black, white },
			must: white - black >= 50,
		},
	})),
	{
		name: 'mirrored, tilted, barrel, vignette',
		tablet: { sidePx: 100, mirrored: true, tilt: 0.3, barrel: 0.25 },
		view: { blurPx: 1.5, noise: 8, vignette: 0.5 },
		must: true,
	},
];

const quick = process.argv.includes('--quick');
const count = quick ? 8 : 60;
const rows = STEPS.map(({ name, tablet, view, must }) => {
	const { read, wrong } = decode(tablet, view ?? {}, count);
	return { name, read, wrong, count, must };
});
const missed = rows.flatMap(({ name, read, wrong, must }) => [
	...(wrong > 0 ? [`${name}: ${wrong} read wrongly`] : []),
	...(must && read < count ? [`${name}: ${read} of ${count} read`] : []),
]);
process.exitCode = missed.length > 0 ? 1 : 0;
const context = benchContext();
if (process.argv.includes('--json'))
	process.stdout.write(`${JSON.stringify({ ...context, rows, missed }, null, '\t')}\n`);
else {
	console.log(`Single pictures of a marker, ${count} a row, any turn, seeds 1 to ${count}`);
	console.log(
		`commit ${context.commit}, Node ${context.node}, ${context.cpu}, load ${context.loadAverage}\n`,
	);
	printTable(
		rows.map(({ name, read, wrong, must }) => ({
			marker: name,
			'read %': ((100 * read) / count).toFixed(1),
			'read wrongly': wrong,
			'must be read': must ? 'yes' : '',
		})),
	);
	console.log(
		missed.length === 0 ? '\nEvery goal met.' : `\nMissed:\n${missed.map((each) => `- ${each}`).join('\n')}`,
	);
}
