/**
 * Pictures of a track by a video element: at each callback of the element (or of the display, where elements have none) its picture of
 * now is taken. What the element decoded and never showed is counted by the browser and not by numbers; pixels alone say which
 * picture it is, never the callback's own data, which may be of another.
 */
import { drawnCopy, type Picture } from './framePlanes.ts';
import type { Sight, TrackReader } from './sight.ts';

type OnPicture = (seen: Omit<Sight, 'decodedMs'>) => void;

/** Rejects where the element does not play. */
export async function readByVideo(track: MediaStreamTrack, onPicture: OnPicture): Promise<TrackReader> {
	const video = document.createElement('video');
	video.muted = true;
	video.playsInline = true;
	video.srcObject = new MediaStream([track]);
	// Browsers stop a video that nobody could see; this one is hardly there.
	video.style.cssText =
		'position:fixed;left:0;bottom:0;width:2px;height:2px;opacity:0.01;pointer-events:none';
	video.setAttribute('aria-hidden', 'true');
	document.body.append(video);
	await video.play();
	const { grab, name } = grabberOf(video);
	const mayRepeat = !hasCallbacks(video);
	const arrivals = new Arrivals(video);
	const stop = watchOf(video)(() => {
		const picture = video.videoWidth === 0 ? null : grab();
		if (picture === null) return;
		onPicture({ picture, missedCount: mayRepeat ? null : arrivals.missed(), mayRepeat });
	});
	const watched = mayRepeat ? 'display callback' : 'video callback';
	return {
		way: `${watched}, ${name}`,
		close() {
			stop();
			video.srcObject = null;
			video.remove();
		},
	};
}

/** How many pictures the element got, by its own count, and how many of them the page was never shown. */
class Arrivals {
	readonly #video: HTMLVideoElement;
	#before: number | null = null;
	#taken = 0;
	#told = 0;

	constructor(video: HTMLVideoElement) {
		this.#video = video;
	}

	/** Besides the one taken just now. The count may be ahead by one still to be shown: then the next call tells one less. */
	missed(): number | null {
		const total = this.#total();
		if (total === null) return null;
		this.#before ??= total - 1;
		this.#taken++;
		const missed = Math.max(0, total - this.#before - this.#taken - this.#told);
		this.#told += missed;
		return missed;
	}

	#total(): number | null {
		const total: unknown = this.#video.getVideoPlaybackQuality?.().totalVideoFrames;
		return typeof total === 'number' && total > 0 ? total : null;
	}
}

function hasCallbacks(video: HTMLVideoElement): boolean {
	return 'requestVideoFrameCallback' in video;
}

/** Calls until stopped: at each picture that the element shows, or at each refresh. */
function watchOf(video: HTMLVideoElement): (look: () => void) => () => void {
	const ask = hasCallbacks(video)
		? (then: () => void) => void video.requestVideoFrameCallback(then)
		: (then: () => void) => void requestAnimationFrame(then);
	return (look) => {
		let isStopped = false;
		const turn = (): void => {
			if (isStopped) return;
			look();
			ask(turn);
		};
		ask(turn);
		return () => {
			isStopped = true;
		};
	};
}

/** Takes the element's picture of now; null while it has none. */
function grabberOf(video: HTMLVideoElement): { readonly grab: () => Picture | null; readonly name: string } {
	const drawn = (): Picture => drawnCopy(video, { width: video.videoWidth, height: video.videoHeight });
	if (typeof VideoFrame === 'undefined') return { grab: drawn, name: 'canvas' };
	return {
		name: 'frame of the element',
		grab() {
			try {
				return new VideoFrame(video);
			} catch {
				return null;
			}
		},
	};
}
