/**
 * A certificate that this computer signs for itself, for pages over https. It is kept, so that a tablet which was told to
 * trust it once need not be told again, and made anew when it does not name an address in use or nears its end.
 *
 * No outsider vouches for it: every browser warns, and the person has to say yes. Told so where it is offered.
 */
import { X509Certificate } from 'node:crypto';
import { mkdir, readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { generate } from 'selfsigned';
import type { TlsPair } from '../rigs/link/link.ts';

/** Tablets refuse certificates that last longer than 825 days, some those over 398. */
const LASTS_DAYS = 390;
const DAY_MS = 86_400_000;
const KEY_FILE = 'https-key.pem';
const CERTIFICATE_FILE = 'https-certificate.pem';

export type KeptCertificate = TlsPair & {
	/** As browsers show it, to compare: pairs of signs with colons. */
	readonly fingerprint: string;
	/** The file to hand to a tablet that shall trust it for good. */
	readonly file: string;
};

/** The kept pair if it is good for these addresses, else a new one, kept in `folder`. */
export async function keepCertificate(
	folder: string,
	addresses: readonly string[],
	nowMs: number,
): Promise<KeptCertificate> {
	const kept = await readPair(folder);
	const pair =
		kept !== null && isGood(kept.cert, addresses, nowMs) ? kept : await makePair(folder, addresses, nowMs);
	const { fingerprint256: fingerprint } = new X509Certificate(pair.cert);
	return { ...pair, fingerprint, file: join(folder, CERTIFICATE_FILE) };
}

async function readPair(folder: string): Promise<TlsPair | null> {
	const read = (name: string) => readFile(join(folder, name), 'utf8').catch(() => null);
	const [key, cert] = [await read(KEY_FILE), await read(CERTIFICATE_FILE)];
	return key === null || cert === null ? null : { key, cert };
}

function isGood(pem: string, addresses: readonly string[], nowMs: number): boolean {
	try {
		const certificate = new X509Certificate(pem);
		const named = addresses.every((address) => certificate.checkIP(address) !== undefined);
		return named && Date.parse(certificate.validTo) - nowMs > DAY_MS;
	} catch {
		return false;
	}
}

async function makePair(folder: string, addresses: readonly string[], nowMs: number): Promise<TlsPair> {
	const made = await generate([{ name: 'commonName', value: 'steerworthy on this laptop' }], {
		keyType: 'ec',
		curve: 'P-256',
		algorithm: 'sha256',
		notBeforeDate: new Date(nowMs - DAY_MS),
		notAfterDate: new Date(nowMs + LASTS_DAYS * DAY_MS),
		extensions: [
			{ name: 'basicConstraints', cA: false, critical: true },
			{ name: 'keyUsage', digitalSignature: true, critical: true },
			{ name: 'extKeyUsage', serverAuth: true },
			{
				name: 'subjectAltName',
				altNames: [{ type: 2, value: 'localhost' }, ...addresses.map((ip) => ({ type: 7 as const, ip }))],
			},
		],
	});
	await mkdir(folder, { recursive: true });
	await writeFile(join(folder, KEY_FILE), made.private, { mode: 0o600 });
	await writeFile(join(folder, CERTIFICATE_FILE), made.cert);
	return { key: made.private, cert: made.cert };
}
