/** The delay of the run that answers beside that of a run at home, and on what kinds of device the two were read. */
import { isSameKind } from '../metrics/viewerDevice.ts';
import type { YardReading, YardRun, YardSession } from '../verdict/yardSession.ts';
import { formatMs } from './numbers.ts';

type Home = NonNullable<YardSession['home']>;
type Device = NonNullable<Home['device']>;

/** `here`: the run that answers. Empty where no reading at home was given. */
export function besideHome(home: YardSession['home'], here: YardRun | null): string[] {
	if (home === null) return [];
	const reading = here?.reading;
	if (here == null || reading?.delay == null)
		return ['No run that answers was made here, so nothing stands beside the reading at home.'];
	return [
		homeWords(reading.delay, home),
		homeDeviceWords(reading.device, home),
		`A kit that was filmed through its own lens: whether it may be steered by here is told by steerworthy here --kit RUN --link ${here.runId} --home ${home.runId}, or by “A kit here” among the console’s pages.`,
	];
}

function homeWords(here: NonNullable<YardReading['delay']>, home: Home): string {
	const doubt = Math.hypot(here.uncertaintyMs, home.uncertaintyMs);
	const shift = (a: number, b: number): string => `${a >= b ? '+' : '−'}${formatMs(Math.abs(a - b))}`;
	return `Delay here beside home: median ${shift(here.medianMs, home.medianMs)}, 19 times in 20 ${shift(here.p95Ms, home.p95Ms)}, give or take ${formatMs(doubt)}. A home reading does not carry to a yard.`;
}

/** A page knows its browser's own words and its display's rate: enough to tell kinds of device apart, not two of a kind. */
function homeDeviceWords(here: YardReading['device'], { runId, startedAt, device }: Home): string {
	const home = `The reading at home is ${runId}${startedAt === null ? '' : ` of ${startedAt.slice(0, 10)}`}`;
	if (here === null || device === null)
		return `${home}; on which device ${device === null ? 'it was read' : 'this one was read'} is not known. Unless it was this tablet, the difference says nothing of the air.`;
	return isSameKind(here, device)
		? `${home}, read on the same kind of device as here (${deviceWords(here)}). Whether it was this very tablet a page cannot know.`
		: `${home}, read on another kind of device: there ${deviceWords(device)}; here ${deviceWords(here)}. The difference is between two devices as well as two places.`;
}

function deviceWords({ system, browser, displayHz }: Device): string {
	return `"${system}", ${browser}${displayHz === null ? '' : `, display at ${displayHz.toFixed(0)} Hz`}`;
}
