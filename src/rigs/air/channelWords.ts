/** Which channel the Wi-Fi is on, as the computer sees it or else as a person typed it, and what to say of it. */
import { adviseOnChannel, type OwnChannel, readTypedChannel } from './channelAdvice.ts';
import { mhzToChannel } from './channels.ts';
import type { SeenAir } from './lookAtAir.ts';

/** Null where the computer cannot tell. What a scan tells of the joined network says its width too. */
export function channelSeen(seen: SeenAir | null): OwnChannel | null {
	const own = seen?.heard?.find((network) => network.joined);
	if (own !== undefined) return own;
	const freqMHz = seen?.link?.freqMHz ?? null;
	const joined = freqMHz === null ? null : mhzToChannel(Math.round(freqMHz));
	return joined === null ? null : readTypedChannel(`${joined.band} GHz ${joined.channel}`);
}

/** `channel`: what to keep; as typed where it could not be read. */
export function channelWords(
	typed: string,
	seen: SeenAir | null,
): { readonly channel: string; readonly words: string[] } {
	const own = channelSeen(seen) ?? readTypedChannel(typed);
	if (own === null) return { channel: typed, words: [] };
	const heard = seen?.heard?.filter((network) => !network.joined) ?? null;
	return {
		channel: `${own.band} GHz ${own.channel}@${own.takes.widthMHz}`,
		words: adviseOnChannel(own, heard).map(({ seen: what, advice }) => `${sentence(what)} ${advice}`),
	};
}

function sentence(text: string): string {
	return `${text.charAt(0).toUpperCase()}${text.slice(1)}${text.endsWith('.') ? '' : '.'}`;
}
