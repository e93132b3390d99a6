/** What a viewer's stamp does not see of the way to the light is carried in full, and named as assumed where it is. */
import { expect, test } from 'vitest';
import type { Systematic } from '../../../src/observations/records.ts';
import type { Hello } from '../../../src/rigs/link/controlServer.ts';
import { type LinkOptions, usualLink } from '../../../src/rigs/link/link.ts';
import { linkHeader } from '../../../src/rigs/link/linkHeader.ts';

const options: LinkOptions = {
	...usualLink,
	runId: 'made',
	toolVersion: 'test',
	startedAt: '2026-01-01T00:00:00Z',
	profile: 'demo',
	subject: { kind: 'link', name: 'made', invented: false },
	observedMs: 1000,
};

function wayToGlass(viewerPoint: Hello['viewerPoint'], displayPeriodMs: number | null): Systematic {
	const hello: Hello = {
		type: 'hello',
		protocol: 1,
		displayPeriodMs,
		clockQuantumMs: 0.005,
		userAgent: 'test',
		viewerPoint,
		decoder: 'test',
	};
	const { systematics, viewerAgent } = linkHeader(options, hello, 'avc1');
	// Whatever the viewer calls itself stays with the run: a reading at home is told by it.
	expect(viewerAgent).toBe('test');
	expect(systematics).toHaveLength(1);
	return systematics[0]!;
}

test('from decoded to light it is 0 to 2 display periods: one period to either side of the middle', () => {
	expect(wayToGlass('decoded', 8)).toMatchObject({ shape: 'oneSided', halfWidthMs: 8 });
});

test('from drawn to light it is 0 to 1 display period', () => {
	expect(wayToGlass('presented', 8)).toMatchObject({ shape: 'oneSided', halfWidthMs: 4 });
});

test('a display that does not tell its period is taken for 60 Hz, and that is said', () => {
	const { halfWidthMs, source } = wayToGlass('decoded', null);
	expect(halfWidthMs).toBeCloseTo(1000 / 60, 9);
	expect(source).toContain('assumed');
	expect(wayToGlass('decoded', 8).source).not.toContain('assumed');
});
