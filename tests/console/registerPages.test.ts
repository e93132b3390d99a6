import { cpSync, existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { unzipSync } from 'fflate';
import { expect, test } from 'vitest';
import { formScript } from '../../src/console/registerFrame.ts';
import { readRegister } from '../../src/register/registerFolder.ts';
import { madeJpeg } from '../pack/madeMetadata.ts';
import { emptyRoot, enterRun, madeRunFolder } from '../register/madeRegister.ts';
import { ask, routesOf, send } from './askRoutes.ts';

const EXAMPLE = resolve(import.meta.dirname, '../../reports/example');

test('a kit is added and changed from the page, and a line taken out of it is taken out of the register', async () => {
	const root = emptyRoot();
	expect(await ask(root, '/ask/register/kit')).toContain('The register holds no kit yet.');
	const kit = {
		kit: 'lark',
		name: '<b>the lark',
		firmware: '1.2',
		appVersion: '3',
		tabletVersion: 'a tablet',
	};
	const sent = { ...kit, serials: 'scope=A1\r\ntablet = T=9\r\n', parts: 'tube\n\nlamp', notes: 'blue\nbag' };
	const page = await ask(root, '/ask/register/kit', sent);
	expect(page).toContain('Kit lark is kept.');
	expect(page).not.toContain('<b>the lark');
	expect((await readRegister(root)).kits.get('lark')).toMatchObject({
		...{ name: '<b>the lark', firmware: '1.2', appVersion: '3', tabletVersion: 'a tablet' },
		...{ serialNumbers: { scope: 'A1', tablet: 'T=9' }, parts: ['tube', 'lamp'], notes: 'blue\nbag' },
	});
	expect(page).toContain('scope=A1\ntablet=T=9</textarea>');
	await ask(root, '/ask/register/kit', { ...sent, serials: 'scope=A2', parts: '' });
	expect((await readRegister(root)).kits.get('lark')).toMatchObject({
		...{ serialNumbers: { scope: 'A2' }, parts: [] },
	});
	await expect(ask(root, '/ask/register/kit', { ...sent, serials: 'A2' })).rejects.toThrow(/A2 is no serial/);
	await expect(ask(root, '/ask/register/kit', { ...sent, kit: '../x' })).rejects.toThrow(/short name/);
});

test('a place and a kit’s reference are named from the page; another kit’s run is refused', async () => {
	const root = emptyRoot();
	for (const [runId, kit] of [
		['lark-1', 'lark'],
		['lark-2', 'lark'],
		['owl-1', 'owl'],
	] as const) {
		await madeRunFolder(root, { runId });
		await enterRun(root, { runId, kit });
	}
	expect(
		await ask(root, '/ask/register/place', { key: 'barn', name: 'the barn', notes: 'tin roof' }),
	).toContain('Place barn is kept.');
	expect((await readRegister(root)).places.get('barn')).toMatchObject({
		name: 'the barn',
		notes: 'tin roof',
	});
	const page = await ask(root, '/ask/register/kit?kit=lark');
	expect(page).toContain('name="run.lark-2"');
	expect(page).not.toContain('name="run.owl-1"');
	const name = (runs: Record<string, string>) =>
		ask(root, '/ask/register/reference', { kit: 'lark', ...runs });
	expect(await name({ 'run.lark-1': 'yes', 'run.lark-2': 'yes' })).toContain('lark has 2 reference runs.');
	expect((await readRegister(root)).kits.get('lark')?.referenceRuns).toEqual(['lark-1', 'lark-2']);
	await name({ 'run.lark-2': 'yes' });
	expect((await readRegister(root)).kits.get('lark')?.referenceRuns).toEqual(['lark-2']);
	await expect(name({ 'run.owl-1': 'yes' })).rejects.toThrow(/not entered as one of lark/);
});

test('a run is judged by other criteria from the page; nothing is written until that is asked', async () => {
	const root = emptyRoot();
	cpSync(EXAMPLE, join(root, 'example'), { recursive: true });
	const kept = readFileSync(join(root, 'example/result.json'), 'utf8');
	await ask(root, '/ask/register/criteria', { name: 'our yard', 'age.level': '130' });
	const by = `by=${encodeURIComponent('file:our-yard.json')}`;
	const page = await ask(root, `/ask/register/judge?run=example&${by}`);
	expect(page).toContain('Judged by other criteria than the kept result.');
	expect(page).toContain('age: level 130 instead of 240');
	expect(await ask(root, `/ask/register/judge?run=example&${by}&whole=yes`)).toContain('What decided it');
	const form = { run: 'example', by: 'file:our-yard.json' };
	await expect(ask(root, '/ask/register/judge', form)).rejects.toThrow(/nothing is written yet/);
	expect(readFileSync(join(root, 'example/result.json'), 'utf8')).toBe(kept);
	expect(await ask(root, '/ask/register/judge?run=example&by=standard')).toContain('to the last digit');
	expect(await ask(root, '/ask/register/judge', { ...form, over: 'yes' })).toContain(
		'kept as judged by our yard',
	);
	expect(JSON.parse(readFileSync(join(root, 'example/result.json'), 'utf8')).criteriaSet.name).toBe(
		'our yard',
	);
	for (const wrong of [
		'run=../example&by=standard',
		'run=example&by=file:../../x.json',
		'run=example&by=none',
	])
		await expect(ask(root, `/ask/register/judge?${wrong}`)).rejects.toThrow(/kept here/);
});

test('a kept result of a later program is not judged over; a torn one is called torn', async () => {
	const root = emptyRoot();
	cpSync(EXAMPLE, join(root, 'example'), { recursive: true });
	const path = join(root, 'example/result.json');
	const kept = readFileSync(path, 'utf8');
	writeFileSync(path, kept.slice(0, 900));
	expect(await ask(root, '/ask/register/pack')).not.toContain('value="example"');
	writeFileSync(path, kept.replace('"version": 1', '"version": 3'));
	// It is not listed as a run that can be judged, and the command names both versions.
	await expect(ask(root, '/ask/register/judge?run=example&by=standard')).rejects.toThrow(
		/version 3; this program knows versions up to 1/,
	);
});

const CASE = {
	...{ animal: 'Bess', date: '2026-03-01', side: 'left', structure: 'arytenoid', sedated: 'yes' },
	...{ question: 'Is it <whole>?', consent: 'owner, 1 March', original: 'yes', run: '' },
	...{ smaller: '', uplink: '2,5', chosen: '', paths: '' },
};

test('a pack is made from the page of files chosen there, whose copies are gone afterwards', async () => {
	const root = emptyRoot();
	await madeRunFolder(root, { runId: 'that-day' });
	writeFileSync(join(root, 'that-day/report.html'), '<p>report</p>');
	const chosen = await send(root, { name: '../my still.jpg', bytes: madeJpeg() });
	expect(chosen).toMatch(/^[0-9a-f]{16}\/my-still.jpg$/);
	const page = await ask(root, '/ask/register/pack', { ...CASE, chosen });
	expect(page).toContain('position in EXIF, place in XMP, place in IPTC: taken out');
	expect(page).toContain('At 2.5 Mbit/s up, as you state');
	expect(page).toContain('href="/runs/register/packs/Bess-2026-03-01.zip"');
	const files = unzipSync(readFileSync(join(root, 'register/packs/Bess-2026-03-01.zip')));
	expect(Buffer.from(files['my-still.jpg']!).toString('latin1')).not.toContain('GPSLatitude');
	const cover = Buffer.from(files['index.html']!).toString();
	for (const words of ['Is it &lt;whole&gt;?', 'arytenoid', 'original, as the kit wrote them'])
		expect(cover).toContain(words);
	expect(existsSync(join(root, 'register/packs/.incoming', chosen))).toBe(false);
});

test('a pack takes a folder’s pictures by path, keeps the place where that is asked, and takes a free name', async () => {
	const root = emptyRoot();
	const folder = emptyRoot();
	for (const name of ['a.jpg', 'b.JPEG', 'notes.txt']) writeFileSync(join(folder, name), madeJpeg());
	const pack = (over: Record<string, string>) =>
		ask(root, '/ask/register/pack', { ...CASE, paths: folder, ...over });
	await pack({});
	expect(await pack({ keepLocation: 'yes' })).toContain('LEFT IN, as asked');
	const packs = readdirSync(join(root, 'register/packs')).sort();
	expect(packs).toEqual(['Bess-2026-03-01-2.zip', 'Bess-2026-03-01.zip']);
	expect(Object.keys(unzipSync(readFileSync(join(root, 'register/packs', packs[1]!))))).toEqual([
		...['index.html', 'a.jpg', 'b.JPEG', 'hashes.txt'],
	]);
	for (const [over, words] of [
		[{ animal: '' }, /which animal/],
		[{ consent: '' }, /who agreed/],
		[{ paths: '' }, /at least one/],
		[{ paths: `${folder}\n${join(folder, 'a.jpg')}` }, /go by one name/],
		[{ paths: join(folder, 'none.jpg') }, /no file that could be read/],
		[{ uplink: 'fast' }, /fast is no number/],
		[{ chosen: '../../result.json' }, /choose it again/],
		[{ run: '../x' }, /No run called/],
	] as const)
		await expect(pack(over)).rejects.toThrow(words);
});

test('what delay costs the hand is shown for tip speeds of one’s own, and a speed that is none is refused', async () => {
	const root = emptyRoot();
	const change = (result: { metrics: { freshDelay: { medianMs: number } } }) => {
		result.metrics.freshDelay.medianMs = 200;
	};
	await madeRunFolder(root, { runId: 'slow', p95Ms: 320, change });
	const page = await ask(root, '/ask/register/hand?run=slow&tip=15+12,5&bits=3');
	for (const words of [
		'3.0 mm',
		'4.8 mm',
		'2.5 mm',
		'4.0 mm',
		'reach of 3 bits',
		'no: extrapolated beyond 225 ms',
	])
		expect(page).toContain(words);
	expect(page).not.toContain('50 mm/s');
	expect(await ask(root, '/ask/register/hand')).toContain('value="10 20 50"');
	for (const wrong of ['tip=fast', 'tip=-5', 'tip=0', 'tip=1+2+3+4+5+6+7', 'tip=10&bits=0', 'tip='])
		await expect(ask(root, `/ask/register/hand?run=slow&${wrong}`)).rejects.toThrow(RangeError);
});

test('the page looks at every file when asked, follows any figure, and takes another register over', async () => {
	const [root, there] = [emptyRoot(), emptyRoot()];
	await madeRunFolder(root, { runId: 'early', startedAt: '2026-02-01T10:00:00Z' });
	await madeRunFolder(there, { runId: 'theirs' });
	await enterRun(there, { runId: 'theirs', kit: 'lark' });
	expect(await ask(root, '/ask/register?check=yes')).toContain('Every file of the 1 run shown is as it was');
	writeFileSync(join(root, 'early/observations.jsonl'), 'others');
	expect(await ask(root, '/ask/register')).not.toContain('(changed)');
	expect(await ask(root, '/ask/register?check=yes')).toContain('observations.jsonl (changed)');
	const page = await ask(root, '/ask/register?trend=pictureAge.meanMs');
	expect(page).toContain('<option value="pictureAge.meanMs" selected>');
	expect(page).toMatch(/id="trend"[\s\S]*pictureAge.meanMs/);
	expect(page).toContain('>fresh delay: over limit: share ratio<');
	expect(await ask(root, '/ask/register/merge', { from: there })).toContain('1 runs copied');
	expect((await readRegister(root)).kits.has('lark')).toBe(true);
	expect(await ask(root, '/ask/register?fitness=unfit')).toContain('0 runs');
	await expect(ask(root, '/ask/register/merge', { from: ' ' })).rejects.toThrow(/in which folder/);
});

test('two people whose names differ in one letter keep two sheets, and a second sheet of one takes the place of the first', async () => {
	const root = emptyRoot();
	const keep = (person: string, light: string) =>
		ask(root, '/ask/register/sheet', {
			kit: 'owl',
			person,
			presentScope: 'old',
			day: '2026-02-04',
			'light.than': light,
		});
	await keep('Zoë', 'worse');
	await keep('Zoé', 'better');
	await keep('Zoë', 'same');
	const sheets = readdirSync(join(root, 'register/sheets')).map((name) =>
		JSON.parse(readFileSync(join(root, 'register/sheets', name), 'utf8')),
	);
	expect(sheets.map(({ person, answers }) => [person, answers.light.than]).sort()).toEqual([
		['Zoé', 'better'],
		['Zoë', 'same'],
	]);
});

test('what keeps the laptop busy waits for the end of a run', () => {
	const heavy = routesOf(emptyRoot()).filter((route) => route.heavy === true);
	expect(heavy.map(({ method, path }) => `${method} ${path.split('/').at(-1)}`).sort()).toEqual([
		...['GET here', 'GET judge', 'POST judge', 'POST merge', 'POST pack', 'PUT pack-file'],
	]);
});

test('the forms’ script is one that a browser can read', () => {
	expect(() => new Function(formScript.text)).not.toThrow();
	expect(formScript.text).toContain("kept.join('\\n')");
});
