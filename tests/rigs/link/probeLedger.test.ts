import fc from 'fast-check';
import { expect, test } from 'vitest';
import { ProbeLedger } from '../../../src/rigs/link/probeLedger.ts';

const LATER_MS = 100_000;

test('a packet is received or lost, once, whichever end reports first', () => {
	const ledger = new ProbeLedger(1000);
	ledger.got([[1, 12]]);
	ledger.sent(
		[
			[0, 0],
			[1, 10],
			[2, 20],
		],
		30,
	);
	ledger.got([
		[0, 3],
		[0, 900],
	]);
	expect(ledger.take(100)).toEqual([
		[
			{ sequence: 0, sentMs: 0, receivedMs: 3 },
			{ sequence: 1, sentMs: 10, receivedMs: 12 },
		],
	]);
	// The one that is silent waits its time, and is then lost for good.
	expect(ledger.take(30 + 2400)).toEqual([]);
	expect(ledger.take(30 + 2600)).toEqual([[{ sequence: 2, sentMs: 20, receivedMs: null }]]);
	ledger.got([[2, 2700]]);
	expect(ledger.take(LATER_MS)).toEqual([]);
});

test('a report that never came leaves a gap between runs and not a lost packet', () => {
	const ledger = new ProbeLedger(1000);
	ledger.sent(
		[
			[0, 0],
			[1, 10],
		],
		20,
	);
	ledger.sent([[7, 70]], 80);
	ledger.got([
		[0, 1],
		[1, 11],
		[7, 71],
	]);
	expect(ledger.take(100).map((run) => run.map(({ sequence }) => sequence))).toEqual([[0, 1], [7]]);
});

test('what nobody sent is not taken, however much of it is told', () => {
	const ledger = new ProbeLedger(1000);
	for (let i = 0; i < 20_000; i++) ledger.got([[i + 500, i]]);
	ledger.sent([[0, 0]], 1);
	ledger.got([[0, 1]]);
	expect(ledger.take(LATER_MS).flat()).toEqual([{ sequence: 0, sentMs: 0, receivedMs: 1 }]);
});

test('every packet sent stands in exactly one run, in order, whatever is lost and however reports are cut', () => {
	fc.assert(
		fc.property(
			fc.array(fc.boolean(), { minLength: 1, maxLength: 200 }),
			fc.array(fc.integer({ min: 1, max: 30 }), { minLength: 1 }),
			(arrives, cuts) => {
				const ledger = new ProbeLedger(50);
				const out: number[] = [];
				const lost: number[] = [];
				let at = 0;
				for (let i = 0; at < arrives.length; i++) {
					const piece = arrives.slice(at, at + (cuts[i % cuts.length] ?? 1));
					const sent = piece.map((_, k): [number, number] => [at + k, (at + k) * 10]);
					ledger.sent(sent, at * 10);
					ledger.got(sent.filter((_, k) => piece[k]).map(([n, ms]) => [n, ms + 5]));
					at += piece.length;
					for (const packet of ledger.take(at * 10).flat()) out.push(packet.sequence);
				}
				for (const { sequence, receivedMs } of ledger.take(LATER_MS).flat()) {
					out.push(sequence);
					if (receivedMs === null) lost.push(sequence);
				}
				expect(out).toEqual(arrives.map((_, i) => i));
				for (const sequence of lost) expect(arrives[sequence]).toBe(false);
			},
		),
	);
});

test('at the end of a stretch what came is told past what is still open, which is lost only by its time or by silence', () => {
	const open = (): ProbeLedger => {
		const ledger = new ProbeLedger(1000);
		ledger.sent(
			[
				[0, 0],
				[1, 10],
			],
			20,
		);
		ledger.sent([[2, 3000]], 3010);
		ledger.got([[1, 13]]);
		return ledger;
	};
	const [came, lost] = [
		{ sequence: 1, sentMs: 10, receivedMs: 13 },
		{ sequence: 0, sentMs: 0, receivedMs: null },
	];
	const early = open();
	// 0 is neither told of nor overdue at 2.5 s: it stays, and may still come.
	expect(early.takeAll(2519, false)).toEqual([[came]]);
	early.got([[0, 4]]);
	expect(early.takeAll(2519, false)).toEqual([[{ ...lost, receivedMs: 4 }]]);
	expect(open().takeAll(2521, false)).toEqual([[lost, came]]);
	// A viewer that fell silent will not tell: what is older than any report is lost, the newest is not known.
	expect(open().takeAll(1521, true)).toEqual([[lost, came]]);
	expect(open().takeAll(1519, true)).toEqual([[came]]);
	expect(open().takeAll(4509, true)).toEqual([[lost, came]]);
	expect(open().takeAll(4511, true)).toEqual([[lost, came, { sequence: 2, sentMs: 3000, receivedMs: null }]]);
});
