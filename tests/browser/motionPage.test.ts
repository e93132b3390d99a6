/** The card with parts that move, through real H.264 and the tablet page: what movement costs is what the card's own pictures say. */
import { expect, test } from 'vitest';
import { measureRun } from '../../src/metrics/measureRun.ts';
import { placeRun } from '../../src/observations/placeRun.ts';
import { fidelityRows } from '../../src/report/fidelityRows.ts';
import { usualLink } from '../../src/rigs/link/link.ts';
import { standardCriteria, thresholdsOf } from '../../src/verdict/criteria.ts';
import { executablePath, launch, pressStart, startLink } from './pageLink.ts';

test.skipIf(executablePath === null)(
	'edges that move keep their detail, drag nothing behind, and the pulse keeps its size and beat in the page',
	async () => {
		const browser = await launch();
		try {
			// Two periods of the pulse and a dozen looks are the least that tell it; a busy computer skips some.
			const link = startLink(9000, {
				sampleEveryMs: 350,
				card: { ...usualLink.card, difficulty: 'motion' },
			});
			const page = await browser.newPage({ viewport: { width: 1180, height: 820 } });
			await page.goto(await link.url);
			await pressStart(page);
			await link.outcome;
			const metrics = measureRun(placeRun(link.records), thresholdsOf(standardCriteria));
			if (metrics.fidelity?.kind !== 'measured' || metrics.fidelity.motion === undefined)
				throw new Error('nothing that moves was read');
			const { speeds, earlierRatio, pulse } = metrics.fidelity.motion;
			expect(speeds.map(({ speedPx }) => speedPx)).toEqual([2, 6]);
			for (const { detailKeptRatio, smearPx } of speeds) {
				expect(Math.abs(detailKeptRatio! - 1)).toBeLessThan(0.1);
				expect(smearPx).toBeLessThan(0.7);
			}
			expect(Math.abs(earlierRatio!)).toBeLessThan(0.05);
			if (pulse.kind === 'notMeasured') throw new Error(pulse.explanation);
			expect(Math.abs(pulse.keptRatio - 1)).toBeLessThan(0.05);
			// Places are of the picture's own number: the way's delay, whatever it is, is not in them.
			expect(Math.abs(pulse.lagMs)).toBeLessThan(20);
			const said = fidelityRows(metrics).map(([asked, answer]) => `${asked} ${answer}`);
			expect(said).toContain('Does a small pulse survive? yes, it keeps its size');
			expect(said).toContain('Do earlier pictures shine through? no');
		} finally {
			await browser.close();
		}
	},
);
