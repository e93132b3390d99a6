/**
 * One link run as the console holds it: the run's folder, its live figures, its end; then the answer, by the one path that
 * every command takes (`conclude`, handed in).
 */
import { randomBytes } from 'node:crypto';
import type { ProfileName } from '../observations/records.ts';
import { JOININGS, type Joining, type Live } from '../protocol/console.ts';
import { RunFolder, writeRunFile } from '../register/runFolder.ts';
import { runLink } from '../rigs/link/harness.ts';
import {
	type LinkOptions,
	type LinkProgress,
	type TlsPair,
	usualLink,
	type ViewerDoor,
} from '../rigs/link/link.ts';
import { profileOf } from '../verdict/profiles.ts';
import type { ResultDocument } from '../verdict/resultDocument.ts';
import { LiveFigures } from './liveFigures.ts';

/** A person may need minutes from the code to the tap. */
const VIEWER_WITHIN_MS = 600_000;
const DEMO_OBSERVED_MS = 20_000;

export type Conclude = (folder: string) => Promise<ResultDocument>;

export type SessionOrder = {
	readonly runId: string;
	readonly toolVersion: string;
	/** Wall-clock label for people. */
	readonly startedAt: string;
	readonly root: string;
	readonly profile: Exclude<ProfileName, 'file'>;
	readonly joining: Joining;
	/** How the ends are joined, where it was asked in other words. */
	readonly joined?: string;
	/** Small packets a second, each way; none where it is not said. */
	readonly probePerSecond?: number;
	readonly transport: 'webrtc' | 'websocket';
	readonly place: string | null;
	readonly wayName: string;
	readonly address: string;
	readonly door: ViewerDoor;
	readonly tls: TlsPair | null;
	readonly seed: number;
	/** The tablet is given a video decoder; null: it has not said. */
	readonly hasVideoDecoder: boolean | null;
	/** Tried before: no picture could have come over WebRTC here. */
	readonly isUdpShut: boolean;
	readonly observedMs: number | null;
};

export type Session = {
	readonly runId: string;
	readonly targetMs: number;
	readonly transport: SessionOrder['transport'];
	live(): Live;
	stop(): void;
	/** Settles when all is written; throws what ended the run. */
	readonly result: Promise<ResultDocument>;
};

export function startSession(
	order: SessionOrder,
	conclude: Conclude,
	onProgress: (progress: LinkProgress | { stage: 'judging' }) => void,
): Session {
	const stopping = new AbortController();
	const figures = new LiveFigures();
	const options = linkOptionsOf(order);
	const observe = async (): Promise<ResultDocument> => {
		const folder = await RunFolder.create(order.root, order.runId);
		const pictures: Promise<void>[] = [];
		try {
			await runLink(options, {
				record: (record) => {
					folder.append(record);
					figures.record(record);
				},
				evidence: (name, png) => pictures.push(writeRunFile(folder.path, name, png)),
				progress: onProgress,
				signal: stopping.signal,
			});
		} finally {
			await Promise.all(pictures);
			await folder.close();
		}
		onProgress({ stage: 'judging' });
		return conclude(folder.path);
	};
	return {
		runId: order.runId,
		transport: order.transport,
		targetMs: options.observedMs,
		live: () => figures.snapshot(),
		stop: () => stopping.abort(),
		result: observe(),
	};
}

function linkOptionsOf(order: SessionOrder): LinkOptions {
	const { runId, toolVersion, startedAt, profile, joining, place, address, door, tls, seed } = order;
	const isRtc = order.transport === 'webrtc';
	const where =
		joining === 'thisComputer' ? "the tablet page in this computer's browser" : 'the tablet that was let in';
	const declaredMs = profile === 'demo' ? DEMO_OBSERVED_MS : profileOf(profile).observedMs;
	return {
		...usualLink,
		...{ runId, toolVersion, startedAt, profile, place, door, tls, seed },
		subject: {
			kind: 'link',
			name: `${where} over ${isRtc ? 'WebRTC (VP8)' : order.isUdpShut ? 'WebSocket (UDP did not pass)' : 'WebSocket'}, ${order.wayName}`,
			invented: false,
		},
		joined: order.joined ?? JOININGS[joining],
		probePerSecond: order.probePerSecond ?? null,
		card: { ...usualLink.card, seed },
		observedMs: order.observedMs ?? declaredMs,
		viewer: 'external',
		host: address,
		webrtc: isRtc ? { codec: 'VP8', pinned: false } : null,
		format: givesDecoder(order) ? 'h264' : 'jpeg',
		// Whoever was not given the plan cannot guess where the picture is.
		picturePath: `/picture-${randomBytes(16).toString('hex')}`,
		viewerWithinMs: VIEWER_WITHIN_MS,
	};
}

/** What the tablet said, else what browsers do: none over plain http, except on the computer itself. */
function givesDecoder({ hasVideoDecoder, tls, address }: SessionOrder): boolean {
	return hasVideoDecoder ?? (tls !== null || address.startsWith('127.'));
}
