/** What the page for films (`/films/`) may ask: keep a file, judge those kept, how far it has come, stop. */
import { readFilmOrder } from '../protocol/films.ts';
import type { FilmDesk } from './filmDesk.ts';
import { jsonAnswer, type Route } from './route.ts';

const FILMS_PATH = '/ask/films' as const;

export function filmRoutes(desk: FilmDesk): readonly Route[] {
	return [
		{ method: 'GET', path: FILMS_PATH, answer: async () => jsonAnswer(desk.state) },
		{
			method: 'PUT',
			path: `${FILMS_PATH}/file`,
			heavy: true,
			keep: async ({ query, bytes }) => jsonAnswer({ kept: await desk.keep(query.get('name') ?? '', bytes) }),
		},
		{
			method: 'POST',
			path: `${FILMS_PATH}/judge`,
			heavy: true,
			answer: async ({ body }) => {
				desk.begin(readFilmOrder(body));
				return jsonAnswer(desk.state);
			},
		},
		{
			method: 'POST',
			path: `${FILMS_PATH}/stop`,
			answer: async () => {
				desk.stop();
				return jsonAnswer(desk.state);
			},
		},
	];
}
