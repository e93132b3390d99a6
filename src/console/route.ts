/**
 * What a page on the laptop may ask of the console besides files: a path, and a function that answers. Only pages of this
 * console itself, on this computer, can reach a route. `cli/openCommand.ts` hands the list over.
 */
type Asked = {
	readonly query: URLSearchParams;
	/** Parsed JSON of a POST; undefined where there is none. */
	readonly body: unknown;
};

/** Of a file that is sent as it is: its bytes as they come. */
type Sent = { readonly query: URLSearchParams; readonly bytes: AsyncIterable<Uint8Array> };

export type Answer = {
	readonly status: number;
	/** Of its content, as HTTP names it. */
	readonly type: string;
	readonly body: string | Uint8Array;
};

type Way = {
	/** Begins with `/ask/`, so that it can never hide a page. */
	readonly path: `/ask/${string}`;
	/** Keeps this computer busy for seconds: not while a run is on, for it would be held up. */
	readonly heavy?: true;
};

export type Route =
	| (Way & { readonly method: 'GET' | 'POST'; readonly answer: (asked: Asked) => Promise<Answer> })
	| (Way & { readonly method: 'PUT'; readonly keep: (sent: Sent) => Promise<Answer> });

export function jsonAnswer(value: unknown, status = 200): Answer {
	return { status, type: 'application/json', body: JSON.stringify(value) };
}
