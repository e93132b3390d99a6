import { expect, test } from 'vitest';
import { fieldOfView } from '../../src/metrics/distances.ts';

// Geometry, computed in standards.md 6: r 15 mm at 10 mm and r 30 mm at 25 mm are 90 degrees; the window alone would say 112.62 or 100.39.
test('two distances give the field of view, wherever the pupil lies', () => {
	const near = { distanceMm: 10, halfWidthMm: 15 };
	const far = { distanceMm: 25, halfWidthMm: 30 };
	expect(fieldOfView([near, far])).toBeCloseTo(90, 10);
	expect(fieldOfView([near])).toBeNull();
	expect(fieldOfView([near, { ...far, halfWidthMm: 15 }])).toBeNull();
	expect(fieldOfView([])).toBeNull();
});
