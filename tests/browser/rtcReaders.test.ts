/**
 * Each way in which the page can read a WebRTC picture, in a Chromium from which the better ways are taken: what it sees is told by
 * the codes, and *decoded* is known only where frames come from a track processor.
 */
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { placeRun } from '../../src/observations/placeRun.ts';
import { executablePath, GENTLE_RTC, launch, pressStart, startLink } from './pageLink.ts';

const NO_PROCESSOR = 'delete globalThis.MediaStreamTrackProcessor;';
const NO_FRAMES = 'delete globalThis.VideoFrame;';
const NO_CALLBACK = 'delete HTMLVideoElement.prototype.requestVideoFrameCallback;';
const NO_COUNT = 'delete HTMLVideoElement.prototype.getVideoPlaybackQuality;';
/**
 * Chromium gives workers no processor and hands no received track over. Here the page's own processor reads, its frames go to the
 * worker, and a processor made for the purpose gives them out there: all but the handing over of the track is the real thing.
 */
const WORKER_ONLY = `{ const Processor = MediaStreamTrackProcessor; ${NO_PROCESSOR}
	const Real = Worker;
	const inside = (url) => URL.createObjectURL(new Blob([\`let push;
		globalThis.MediaStreamTrackProcessor = class { constructor() {
			this.readable = new ReadableStream({ start(to) { push = (frame) => to.enqueue(frame); } }); } };
		addEventListener('message', (event) => { if (event.data.standIn === undefined) return;
			event.stopImmediatePropagation(); push?.(event.data.standIn); });
		import('\${url}');\`], { type: 'text/javascript' }));
	globalThis.Worker = class extends Real { #isOurs; constructor(url, options) {
			const isOurs = String(url).includes('trackWorker'); super(isOurs ? inside(new URL(url, location.href)) : url, options); this.#isOurs = isOurs; }
		postMessage(data, transfer) { if (!this.#isOurs) return super.postMessage(data, transfer);
			super.postMessage({});
			const reader = new Processor({ track: data }).readable.getReader();
			(async () => { for (;;) { const { value, done } = await reader.read(); if (done) return; super.postMessage({ standIn: value }, [value]); } })(); } }; }`;

const WAYS = [
	{ way: 'track processor', hidden: '', knowsDecoded: true },
	{ way: 'track processor in a worker', hidden: WORKER_ONLY, knowsDecoded: true },
	{ way: 'video callback, frame of the element', hidden: NO_PROCESSOR, knowsDecoded: false },
	{ way: 'video callback, canvas', hidden: NO_PROCESSOR + NO_FRAMES, knowsDecoded: false },
	{
		way: 'display callback, canvas',
		hidden: NO_PROCESSOR + NO_FRAMES + NO_CALLBACK,
		knowsDecoded: false,
	},
] as const;

describe.skipIf(executablePath === null)('a WebRTC picture in the page', () => {
	let browser: Browser;
	beforeAll(async () => {
		browser = await launch();
	});
	afterAll(() => browser.close());

	async function observe(hidden: string) {
		const link = startLink(3000, GENTLE_RTC);
		const context = await browser.newContext({ viewport: { width: 1180, height: 820 } });
		if (hidden !== '') await context.addInitScript(hidden);
		const page = await context.newPage();
		await page.goto(await link.url);
		await pressStart(page);
		await link.outcome;
		await page.close();
		return placeRun(link.records);
	}

	test.each(WAYS)('by $way: seen by its codes, and decoded is told only where it is known', async (one) => {
		const run = await observe(one.hidden);
		expect(run.events.find(({ code }) => code === 'reader')?.detail).toBe(one.way);
		expect(run.header.measuringPoints.viewer).toBe('presented');
		const frames = [...run.frames];
		const presented = frames.filter(({ fate }) => fate === 'presented');
		expect(presented.length).toBeGreaterThan(20);
		for (const { seenMs, decodedMs, shownMs } of presented) {
			expect(decodedMs !== null).toBe(one.knowsDecoded);
			expect(seenMs).toBeGreaterThan(shownMs);
			if (decodedMs !== null) expect(seenMs).toBeGreaterThanOrEqual(decodedMs);
		}
		if (!one.knowsDecoded)
			for (const { fate, decodedMs } of frames) expect(`${fate}: ${decodedMs}`).toBe(`${fate}: null`);
		expect(run.events.filter(({ code }) => code === 'repeated').length).toBeLessThan(5);
		expect(run.patches.some(({ path }) => path === 'displayed')).toBe(true);
	});

	test('a browser that does not count what came says so, and what it did not show is called lost', async () => {
		const run = await observe(NO_PROCESSOR + NO_COUNT);
		expect(run.events.some(({ code }) => code === 'arrivalsUncounted')).toBe(true);
		expect([...run.frames].filter(({ fate }) => fate === 'notDrawn')).toEqual([]);
	});
});
