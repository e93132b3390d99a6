import fc from 'fast-check';
import { expect, test } from 'vitest';
import { ReleaseQueue } from '../../src/transports/releaseQueue.ts';

type Packet = { readonly plannedMs: number; readonly number: number };

test('packets leave at their instants and never before, the earliest first, two of one instant as they came', () => {
	fc.assert(
		fc.property(fc.array(fc.integer({ min: 0, max: 20 }), { minLength: 1, maxLength: 60 }), (instants) => {
			const queue = new ReleaseQueue<Packet>();
			for (const [number, plannedMs] of instants.entries()) queue.insert({ plannedMs, number });
			const left: Packet[] = [];
			for (let nowMs = 0; nowMs <= 20; nowMs++) {
				for (let due = queue.takeDue(nowMs); due !== null; due = queue.takeDue(nowMs)) {
					expect(due.plannedMs).toBe(nowMs);
					left.push(due);
				}
				const later = instants.filter((plannedMs) => plannedMs > nowMs);
				expect(queue.nextMs).toBe(later.length === 0 ? null : Math.min(...later));
			}
			const expected = instants
				.map((plannedMs, number) => ({ plannedMs, number }))
				.sort((a, b) => a.plannedMs - b.plannedMs || a.number - b.number);
			expect(left).toEqual(expected);
		}),
	);
});

test('one that comes later and is due sooner is the next to leave', () => {
	const queue = new ReleaseQueue<Packet>();
	queue.insert({ plannedMs: 50, number: 0 });
	queue.insert({ plannedMs: 10, number: 1 });
	expect(queue.nextMs).toBe(10);
	expect(queue.takeDue(9.999)).toBeNull();
	expect(queue.takeDue(10)?.number).toBe(1);
	expect(queue.takeDue(49)).toBeNull();
	expect(queue.takeDue(50)?.number).toBe(0);
	expect(queue.nextMs).toBeNull();
});
