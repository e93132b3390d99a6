/** User agents in the forms that browsers send them (from memory), with versions, systems and names exchanged. */
import { expect, test } from 'vitest';
import { isSameKind, viewerDeviceOf } from '../../src/metrics/viewerDevice.ts';

const agents = {
	tablet:
		'Mozilla/5.0 (Linux; Android 13; K) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/118.0.0.0 Safari/537.36',
	newer:
		'Mozilla/5.0 (Linux; Android 14; K) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/131.0.0.0 Safari/537.36',
	desktop:
		'Mozilla/5.0 (X11; Linux x86_64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/131.0.0.0 Safari/537.36',
	otherBrowser: 'Mozilla/5.0 (Android 14; Mobile; rv:125.0) Gecko/125.0 Firefox/125.0',
	reader: 'Node v20.11.1',
} as const;
const device = (agent: string, displayPeriodMs: number | null = 1000 / 60) =>
	viewerDeviceOf({ viewerAgent: agent, displayPeriodMs })!;

test('a device stays the same kind when system and browser are brought up to date', () => {
	expect(device(agents.tablet)).toEqual(device(agents.newer));
	expect(isSameKind(device(agents.tablet), device(agents.newer, 1000 / 59.6))).toBe(true);
	expect(device(agents.tablet)).toMatchObject({ system: 'Linux; Android; K', browser: 'Chrome Safari' });
	expect(device(agents.otherBrowser)).toMatchObject({ system: 'Android; Mobile', browser: 'Firefox' });
});

test('another system, another browser and another display are another kind', () => {
	const all = Object.values(agents).filter((agent) => agent !== agents.newer);
	for (const [i, one] of all.entries())
		for (const other of all.slice(i + 1)) expect(isSameKind(device(one), device(other))).toBe(false);
	const other = { ...device(agents.tablet), browser: 'another' };
	expect(isSameKind(device(agents.tablet), other)).toBe(false);
	expect(isSameKind(device(agents.tablet), device(agents.tablet, 1000 / 120))).toBe(false);
	expect(isSameKind(device(agents.tablet), device(agents.tablet, null))).toBe(true);
});

test('a viewer that does not say what it is has no kind', () => {
	expect(viewerDeviceOf({ displayPeriodMs: 10 })).toBeNull();
	expect(viewerDeviceOf({ viewerAgent: ' ', displayPeriodMs: 10 })).toBeNull();
	expect(device(agents.reader)).toMatchObject({ system: 'system not said', browser: 'Node' });
});
