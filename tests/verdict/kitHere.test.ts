/** A kit filmed at home, and links of one tablet at home and elsewhere, all in virtual time. */
import { beforeAll, describe, expect, test } from 'vitest';
import { measureLinkShift } from '../../src/metrics/linkShift.ts';
import { measureRun } from '../../src/metrics/measureRun.ts';
import type { Metrics } from '../../src/metrics/metric.ts';
import { laterBy } from '../../src/observations/laterBy.ts';
import { placeRun } from '../../src/observations/placeRun.ts';
import type { Header } from '../../src/observations/records.ts';
import type { Run } from '../../src/observations/run.ts';
import { kitHereSections, kitHereSubject } from '../../src/report/kitHereWords.ts';
import { airPresets } from '../../src/simulation/airPresets.ts';
import { standardCriteria, thresholdsOf } from '../../src/verdict/criteria.ts';
import { judgeKitHere, type KitHere } from '../../src/verdict/kitHere.ts';
import { clear, kitRecords, linkRecords } from './threeRuns.ts';

const thresholds = thresholdsOf(standardCriteria);
const measure = (run: Run): Metrics => measureRun(run, thresholds);
const link = (...words: Parameters<typeof linkRecords>): Run => placeRun(linkRecords(...words));

/** What a link that does here as at home adds (found so in the first test). */
const USUAL: ReturnType<typeof measureLinkShift> = {
	...{ kind: 'measured', medianMs: 0, p95Ms: 0 },
	...{ delay: [{ leftRatio: 0.03, addedMs: 7 }], age: [{ leftRatio: 0.03, addedMs: 15 }] },
};
type Beside = { readonly at?: Run; readonly of?: Run; readonly shift?: ReturnType<typeof measureLinkShift> };

describe('the kit here', () => {
	let kit: Run;
	let home: Run;
	/** The same air another time, by the same tablet. */
	let same: Run;
	beforeAll(() => {
		kit = placeRun(kitRecords());
		home = link(clear, 5);
		same = link(clear, 6);
	});
	const laterKits = new Map<number, Metrics>();
	const kitLaterBy = (addedMs: number): Metrics => {
		const known = laterKits.get(addedMs) ?? measure(laterBy(kit, addedMs));
		laterKits.set(addedMs, known);
		return known;
	};
	const judge = (here: Run, { at = home, of = kit, shift = USUAL }: Beside = {}): KitHere =>
		judgeKitHere(
			{ kit: measure(of), here: measure(here), home: measure(at), shift, kitLaterBy },
			standardCriteria,
		);
	const stateOf = (found: KitHere, id: string) => found.lines.find((line) => line.id === id)!;

	test('whose link does here as it does at home may be steered by here as there, and says on what that rests', () => {
		const found = judge(same, { shift: measureLinkShift(same, home) });
		expect([found.steer, found.fitness, found.headline]).toEqual([
			'yes',
			'steering',
			'this kit is fit for live steering here',
		]);
		expect(found.lines.every(({ state }) => state === 'met')).toBe(true);
		expect(found.runs).toMatchObject({
			kit: { runId: 'lark', steer: 'yes' },
			here: { runId: 'link-6', steer: 'yes' },
			home: { runId: 'link-5' },
		});
		expect(kitHereSubject(found)).toBe('the lark, here: the arch, 2030-05-01 08:00');
		const said = kitHereSections({ ...found, notes: ['arch: never sealed.'] })
			.flatMap(({ items }) => items)
			.join('\n');
		expect(said).toMatch(/through a SIMULATED air \(clear\)/);
		expect(said).toContain('arch: never sealed.');
		expect(said).not.toMatch(/INVENTED/);
		expect(found.order).toMatch(/Now, as the link was measured; later measure it again\.$/);
		const subject = { ...kit.header.subject, invented: true };
		const invented = judge(same, { of: { ...kit, header: { ...kit.header, subject } } });
		expect(invented.headline).toBe('this kit is fit for live steering here (an invented kit)');
		expect(kitHereSections({ ...invented, notes: [] })[0]?.items.join('\n')).toMatch(/INVENTED/);
		expect(said).toMatch(/lark of 2030-04-01/);
		expect(said).toMatch(/Whether the scope’s own Wi-Fi does here as our link did/);
	});

	test('is later here by what the link is later: 60 ms are too many for one that has 45 to spare, though the link alone may be steered by', () => {
		const here = link({ ...clear, delayMs: clear.delayMs + 60 }, 7);
		const found = judge(here, { shift: measureLinkShift(here, home) });
		expect(found.shift).toMatchObject({ kind: 'measured' });
		if (found.shift.kind === 'measured') {
			expect(found.shift.medianMs).toBeCloseTo(60, 0);
			expect(found.shift.age.every(({ addedMs }) => addedMs >= 60 && addedMs < 85)).toBe(true);
		}
		expect(found.runs.here.steer).toBe('yes');
		expect([found.steer, found.fitness]).toEqual(['undetermined', 'undetermined']);
		expect(stateOf(found, 'age').state).not.toBe('met');
		expect(found.decidedBy).toContain('age');
		expect(found.order).toMatch(/^Treat as not fit to steer; do this next: change the place/);
	});

	test('a rare event of the link here is one of the kit here', () => {
		const found = judge(link(airPresets.get('droppingOut')!.spec, 8));
		expect([found.steer, found.headline]).toEqual(['no', 'this kit is not fit for live steering here']);
		expect(found.decidedBy).toEqual(expect.arrayContaining(['freezes', 'gaps']));
		expect(stateOf(found, 'freezes').because).toMatch(/^the link here: /);
		expect(stateOf(found, 'age').state).not.toBe('notMet');
		// What an addition leaves out is in the bound.
		expect(stateOf(found, 'half-second').bound).toBeGreaterThan(0.03);
	});

	test('without a link run at home that may stand beside it there is no answer', () => {
		for (const [over, why] of [
			[{ viewerAgent: 'Mozilla/5.0 (Other; Pane 2) Chrome/140' }, /different kinds of device/],
			[{ viewerAgent: undefined }, /is not known/],
			[{ measuringPoints: { source: 'generated', viewer: 'decoded' } }, /different measuring points/],
			[{ path: null }, /different transports/],
			[{ runId: same.header.runId }, /one and the same run/],
			[{ source: { ...home.header.source, rateHz: 25 } }, /different cards/],
		] as const) {
			const other: Run = { ...home, header: { ...home.header, ...over } as Header };
			const found = judge(same, { at: other, shift: measureLinkShift(same, other) });
			expect(found.steer).toBe('undetermined');
			expect(found.shift).toMatchObject({ kind: 'notMeasured', explanation: expect.stringMatching(why) });
			expect(found.order).toMatch(/make one link run at home and one here/);
		}
	});

	test('a short or torn run at home, a short run here or a kit not settled by itself holds the yes back, each by its own words', () => {
		const short = judge(same, { at: link(clear, 5, { observedMs: 90_000 }) });
		expect([short.steer, short.order]).toEqual([
			'undetermined',
			expect.stringMatching(/make the run at home again/),
		]);
		const here = judge(link(clear, 6, { over: { profile: 'brief' }, observedMs: 121_000 }));
		expect([here.steer, here.order]).toEqual([
			'undetermined',
			expect.stringMatching(/settle the link here first/),
		]);
		const torn = judge(same, { at: { ...home, endedBy: null } });
		expect([torn.steer, torn.order]).toEqual([
			'undetermined',
			expect.stringMatching(/make the run at home again/),
		]);
		const untold = { ...kit, events: kit.events.filter(({ code }) => code !== 'filmedFast') };
		const part = judge(same, { of: untold });
		expect([part.steer, part.order]).toEqual([
			'undetermined',
			expect.stringMatching(/settle the kit by itself first/),
		]);
	});

	test('runs in each other’s place are refused', () => {
		const metrics = { kit: measure(kit), here: measure(home), home: measure(home) };
		const shift = USUAL;
		expect(() =>
			judgeKitHere({ ...metrics, kit: metrics.here, shift, kitLaterBy }, standardCriteria),
		).toThrow(RangeError);
		expect(() =>
			judgeKitHere({ ...metrics, home: metrics.kit, shift, kitLaterBy }, standardCriteria),
		).toThrow(RangeError);
		expect(measureLinkShift(kit, home)).toMatchObject({ kind: 'notMeasured', reason: 'notComparable' });
	});
});
