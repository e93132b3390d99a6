/**
 * What a page on the laptop may ask of the console besides files: a path, and a function that answers. Only pages of this
 * console itself, on this computer, can reach a route. `cli/openCommand.ts` hands the list over.
 */
type Asked = {
	readonly query: URLSearchParams;
	/** Parsed JSON of a POST; undefined where there is none. */
	readonly body: unknown;
};

export type Answer = {
	readonly status: number;
	/** Of its content, as HTTP names it. */
	readonly type: string;
	readonly body: string | Uint8Array;
};

export type Route = {
	readonly method: 'GET' | 'POST';
	/** Begins with `/ask/`, so that it can never hide a page. */
	readonly path: `/ask/${string}`;
	readonly answer: (asked: Asked) => Promise<Answer>;
};

export function jsonAnswer(value: unknown, status = 200): Answer {
	return { status, type: 'application/json', body: JSON.stringify(value) };
}
