/**
 * "Get ready at home": everything that could be found missing in a yard, tried for real on this computer, with nothing
 * asked of the internet.
 */
import { access, constants, mkdir } from 'node:fs/promises';
import { networkInterfaces } from 'node:os';
import { join } from 'node:path';
import { OutsideFailure } from '../failure.ts';
import type { HomeCheck } from '../protocol/console.ts';
import { runLink } from '../rigs/link/harness.ts';
import { usualLink } from '../rigs/link/link.ts';
import { keepCertificate } from './certificate.ts';
import { networkWays } from './networkChoice.ts';

const TRIAL_OBSERVED_MS = 2000;

export type HomeMeans = {
	readonly pagesFolder: string;
	readonly runsFolder: string;
	readonly keepFolder: string;
};
type Trial = { readonly name: string; readonly run: () => Promise<string> };

/** Tells the whole list after each step. Never throws: what fails is in the list. */
export async function getReady(means: HomeMeans, tell: (checks: HomeCheck[]) => void): Promise<void> {
	const checks: HomeCheck[] = [];
	for (const { name, run } of trials(means)) {
		tell([...checks, { name, state: 'running', words: '' }]);
		checks.push(await attempt(name, run));
	}
	tell(checks);
}

async function attempt(name: string, run: () => Promise<string>): Promise<HomeCheck> {
	try {
		return { name, state: 'pass', words: await run() };
	} catch (failure) {
		const words =
			failure instanceof OutsideFailure ? `${failure.message} ${failure.advice}` : String(failure);
		return { name, state: 'fail', words };
	}
}

function trials({ pagesFolder, runsFolder, keepFolder }: HomeMeans): Trial[] {
	return [
		{
			name: 'The pages are built',
			run: async () => {
				for (const page of ['tablet', 'console']) await access(join(pagesFolder, page, 'index.html'));
				return 'Nothing in them comes from elsewhere.';
			},
		},
		{
			name: 'Runs can be kept',
			run: async () => {
				await mkdir(runsFolder, { recursive: true });
				await access(runsFolder, constants.W_OK);
				return `In ${runsFolder}.`;
			},
		},
		{
			name: 'A certificate for https can be made',
			run: async () => {
				await keepCertificate(keepFolder, ['127.0.0.1'], Date.now());
				return 'By this computer itself; needed only with https.';
			},
		},
		{ name: 'A picture goes out, comes back and is read', run: tryLink },
		{ name: 'There is a network besides this computer', run: findNetwork },
	];
}

/** Two seconds of the real thing: encoder, sockets, decoder, clock, in the processes of a real run. */
async function tryLink(): Promise<string> {
	let frames = 0;
	await runLink(
		{
			...usualLink,
			runId: 'get-ready',
			toolVersion: 'get-ready',
			startedAt: '',
			profile: 'demo',
			subject: { kind: 'computer', name: 'this computer', invented: false },
			observedMs: TRIAL_OBSERVED_MS,
			warmUpMs: 500,
			lostAfterMs: 1000,
		},
		{
			record: (record) => {
				if (record.kind === 'presentations')
					frames += record.rows.filter(([, , , , , seenMs]) => seenMs !== null).length;
			},
			evidence: () => {},
			progress: () => {},
		},
	);
	if (frames === 0)
		throw new OutsideFailure('nothingSeen', 'No picture was read.', 'Close other programs and try again.');
	return `${frames} pictures were read.`;
}

async function findNetwork(): Promise<string> {
	const real = networkWays(networkInterfaces()).filter(({ kind }) => kind === 'real');
	if (real.length === 0)
		throw new OutsideFailure(
			'noNetwork',
			'No network that a tablet could be on was found.',
			'Join a Wi-Fi, plug in a cable, or make the laptop an access point. Internet is not needed.',
		);
	return `${real.map(({ name, address }) => `${name} (${address})`).join(', ')}. Internet is not needed and was not asked for.`;
}
