/** Moving edges and a small pulse of the card through real H.264, 25 pictures a second, the truth known from each picture's number. */
import type { Planes } from '../src/imaging/planes.ts';
import { openH264Decoder } from '../src/media/node/h264Decoder.ts';
import { openH264Encoder } from '../src/media/node/h264Encoder.ts';
import { measureMotion } from '../src/metrics/motion.ts';
import type { Motion } from '../src/metrics/pictureMetric.ts';
import type { DetailSample } from '../src/observations/run.ts';
import type { CardSpec } from '../src/pattern/card.ts';
import { createCardPainter } from '../src/pattern/painter.ts';
import { createLinkDetailReader } from '../src/reading/linkDetail.ts';
import { type Accuracy, milliseconds, row } from './pictureAccuracy.ts';

const SPEC: CardSpec = { layout: 'link', size: '1280x720', seed: 1, difficulty: 'motion' };
const RATE_HZ = 25;
/** Two beats of the pulse and a little. */
const PICTURES = 135;
/** Every third picture is looked at. */
const LOOK_EVERY = 3;

export async function motionAccuracy(quick: boolean): Promise<Accuracy[]> {
	const rows: Accuracy[] = [];
	for (const bitrateKbps of quick ? [3000] : [8000, 3000, 1000]) {
		const motion = await throughH264(bitrateKbps).catch(() => null);
		if (motion === null) return rows;
		rows.push(...rowsOf(motion, bitrateKbps));
	}
	return rows;
}

function rowsOf({ pulse, speeds, earlierRatio }: Motion, bitrateKbps: number): Accuracy[] {
	const at = `x264 at ${bitrateKbps} kbit/s`;
	const told = speeds
		.map(({ speedPx, detailKeptRatio }) => `${speedPx} px: ${detailKeptRatio?.toFixed(2) ?? 'not read'}`)
		.join(', ');
	return [
		row(`card’s pulse of 3 px, 25 a minute, ${at}: amplitude`, {
			reading: pulse.kind === 'measured' ? Math.abs(pulse.keptRatio - 1) : 1,
			goal: 0.05,
		}),
		milliseconds('… its phase', {
			readingMs: pulse.kind === 'measured' ? Math.abs(pulse.lagMs) : Number.POSITIVE_INFINITY,
			goalMs: 20,
		}),
		{
			what: '… moving edges: detail kept at each speed; earlier pictures in it',
			truth: '1; 0',
			reading: `${told}; ${(earlierRatio ?? 0).toFixed(3)}`,
			goal: 'told',
			met: '',
		},
	];
}

async function throughH264(bitrateKbps: number): Promise<Motion> {
	const sides = { widthPx: 1280, heightPx: 720 };
	const encoder = await openH264Encoder({ ...sides, rateHz: RATE_HZ, bitrateKbps, keyEveryFrames: 60 });
	const decoder = await openH264Decoder();
	const painter = createCardPainter(SPEC);
	const read = createLinkDetailReader(SPEC);
	const details: DetailSample[] = [];
	for (let frameNumber = 0; frameNumber < PICTURES; frameNumber++) {
		const drawn = painter.paintPlanes(frameNumber);
		const decoded = decoder.decode(encoder.encode(drawn).bytes, frameNumber);
		if (decoded === null || decoded.frameNumber !== frameNumber || frameNumber % LOOK_EVERY > 0) continue;
		details.push(look(decoded.planes, { drawn, frameNumber }));
	}
	encoder.close();
	decoder.close();
	const motion = measureMotion(details);
	if (motion === undefined) throw new Error('no picture was looked at');
	return motion;

	function look(
		planes: Planes,
		{ drawn, frameNumber }: { drawn: Planes; frameNumber: number },
	): DetailSample {
		const atMs = (1000 * frameNumber) / RATE_HZ;
		return { segment: 0, frameNumber, atMs, ...read(planes, drawn, frameNumber) };
	}
}
