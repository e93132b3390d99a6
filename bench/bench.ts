/**
 * `npm run bench -- NAME [--quick] [--json]`: how good the instrument is, known truth in, reading out. A name stands for one
 * or more parts, each a script of its own that prints its seeds, the machine's load and the commit. Exit code 1: a goal
 * was missed; 2: no such name.
 */
import { spawnSync } from 'node:child_process';
import { join } from 'node:path';

const BENCHES: Readonly<Record<string, readonly string[]>> = {
	link: ['link', 'rtc'],
	clock: ['clockSimulated', 'clockReal'],
	periodicity: ['periodicity'],
	picture: ['picture'],
	decision: ['decision', 'forecast'],
	optical: ['optical', 'opticalPeaks', 'opticalPixels', 'opticalMarkers', 'opticalSession', 'opticalSpeed'],
	register: ['register'],
	risk: ['decisionRisk', 'sessionRisk', 'kitHere'],
	speed: ['floor', 'imagingSpeed', 'codeReading', 'longRun'],
};

const [name = '', ...options] = process.argv.slice(2);
const parts = BENCHES[name];
const json = options.includes('--json');
if (parts === undefined) {
	process.stderr.write(
		`There is no bench called "${name}". There are: ${Object.keys(BENCHES).join(', ')}.\n`,
	);
	process.exit(2);
}

const outputs: unknown[] = [];
let missed = false;
for (const part of parts) {
	const script = join(import.meta.dirname, `${part}.ts`);
	const { status, stdout } = spawnSync(process.execPath, ['--import', 'tsx', script, ...options], {
		encoding: 'utf8',
		maxBuffer: 2 ** 28,
		stdio: ['ignore', json ? 'pipe' : 'inherit', 'inherit'],
	});
	missed ||= status !== 0;
	if (json) outputs.push(JSON.parse(stdout));
	else process.stdout.write('\n');
}
if (json) process.stdout.write(`${JSON.stringify({ bench: name, parts: outputs }, null, '\t')}\n`);
process.exitCode = missed ? 1 : 0;
