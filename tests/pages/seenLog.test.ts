import { expect, test } from 'vitest';
import { SeenLog, type SeenRow } from '../../src/pages/tablet/seenLog.ts';

function drawn(log: SeenLog, number: number, atMs: number): SeenRow {
	const row = log.add(number, atMs, atMs + 1);
	row.code = number;
	log.markDrawn(row, atMs + 2);
	return row;
}

test('rows leave in the order decoded, and one that is still open holds back all after it', () => {
	const log = new SeenLog();
	drawn(log, 1, 10);
	const open = log.add(2, 20, 21);
	drawn(log, 3, 30);
	expect(log.takeFinished(10)).toEqual([[1, 1, 10, 11, 12]]);
	open.code = null;
	expect(log.takeFinished(10)).toEqual([]);
	open.presentedMs = null;
	expect(log.takeFinished(1)).toEqual([[2, null, 20, 21, null]]);
	expect(log.takeFinished(10)).toEqual([[3, 3, 30, 31, 32]]);
	expect([log.decodedCount, log.drawnCount]).toEqual([3, 2]);
});

test('what is decoded while nobody looks is in no row; what was finished before stays, what was open goes', () => {
	const log = new SeenLog();
	drawn(log, 1, 10);
	log.add(2, 20, 21);
	log.dropOpenRows();
	log.pause(true);
	drawn(log, 3, 30);
	log.addMissed(2, 31);
	log.pause(false);
	drawn(log, 4, 40);
	expect(log.takeFinished(10).map(([number]) => number)).toEqual([1, 4]);
});

test('at the end an open row counts as it stands: not drawn, and unreadable where its code was not read', () => {
	const log = new SeenLog();
	log.add(1, 10, 11);
	const read = log.add(2, 20, null);
	read.code = 2;
	log.closeOpenRows();
	expect(log.takeFinished(10)).toEqual([
		[1, null, 10, 11, null],
		[2, 2, 20, null, null],
	]);
});

test('pictures that were only counted stand before the one that the page was shown next, without code and instant', () => {
	const log = new SeenLog();
	log.addMissed(2, 30);
	drawn(log, 5, 31);
	expect(log.takeFinished(10)).toEqual([
		[null, null, 30, null, null],
		[null, null, 30, null, null],
		[5, 5, 31, 32, 33],
	]);
});
