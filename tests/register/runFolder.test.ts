import { existsSync, mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { RunFolder, readRunFolder } from '../../src/register/runFolder.ts';
import { madeHeader } from '../observations/madeRecords.ts';

const root = (): string => mkdtempSync(join(tmpdir(), 'steerworthy-folder-'));

test('a run that wrote nothing leaves no folder, and its name is free again', async () => {
	const under = root();
	const folder = await RunFolder.create(under, 'left');
	await folder.close();
	expect(existsSync(folder.path)).toBe(false);
	await (await RunFolder.create(under, 'left')).close();
});

test('one record is a run, and stays', async () => {
	const folder = await RunFolder.create(root(), 'begun');
	folder.append(madeHeader);
	await folder.close();
	expect((await readRunFolder(folder.path)).header.runId).toBe(madeHeader.runId);
});

test('what somebody else laid into an empty run’s folder is not taken away', async () => {
	const folder = await RunFolder.create(root(), 'foreign');
	writeFileSync(join(folder.path, 'note.txt'), 'mine');
	await folder.close();
	expect(existsSync(join(folder.path, 'note.txt'))).toBe(true);
});
