/** The pack's first page: what was asked, by whom it may be seen, and under which reading the pictures were made. */
import { renderPage } from '../report/htmlPage.ts';
import {
	bulletList,
	html,
	joinHtml,
	nothing,
	paragraph,
	type SafePiece,
	section,
	termList,
} from '../report/htmlParts.ts';

export type Case = {
	readonly animal: string;
	readonly date: string;
	readonly side: string;
	readonly structure: string;
	readonly sedated: string;
	readonly question: string;
	readonly encoding: string;
	readonly consent: string;
};

export type PackedFile = {
	readonly name: string;
	readonly byteCount: number;
	readonly sha256: string;
	/** What was done about the place it was taken at, in words. */
	readonly location: string;
};

export type Reading = {
	readonly headline: string;
	readonly subject: string;
	readonly runId: string;
	readonly startedAt: string;
	/** Figures of the run that bear on a picture. */
	readonly figures: readonly (readonly [string, string])[];
};

export const PATIENT_WARNING =
	'This pack holds a patient’s pictures, and perhaps an owner’s name: it is not encrypted. Send it only by a way that your practice trusts, to the person named, and delete it where it is no longer needed.';

export function renderCover(cover: {
	readonly about: Case;
	readonly files: readonly PackedFile[];
	readonly reading: Reading | null;
	readonly notes: readonly string[];
	readonly toolVersion: string;
}): string {
	const { about, files, reading } = cover;
	return renderPage({
		title: `Second opinion: ${about.animal}, ${about.date}`,
		masthead: ['second opinion', about.animal, about.date],
		body: [
			section('question', 'The question', [paragraph(about.question)]),
			termList([
				['animal', about.animal],
				['date', about.date],
				['side', about.side],
				['structure', about.structure],
				['sedated', about.sedated],
				['pictures', about.encoding],
				['consent', about.consent],
			]),
			section('pictures', 'The pictures', files.map(filePart)),
			readingPart(reading),
			section('files', 'The files, each with its fingerprint', [
				paragraph(
					'SHA-256, as in hashes.txt. A file whose fingerprint differs is not the one that was packed.',
					'small',
				),
				termList(
					files.map(({ name, byteCount, sha256, location }) => [
						name,
						`${byteCount} bytes; place it was taken at: ${location}; ${sha256}`,
					]),
				),
			]),
			section('privacy', 'A patient’s data', [paragraph(PATIENT_WARNING), bulletList(cover.notes)]),
			paragraph(`steerworthy ${cover.toolVersion}`, 'small'),
		],
	});
}

function filePart({ name }: PackedFile): SafePiece {
	const source = encodeURIComponent(name);
	if (/\.(jpe?g|png)$/i.test(name))
		return html`<figure class="picture"><img src="${source}" alt="${name}"><figcaption>${name}</figcaption></figure>`;
	if (/\.(mp4|mov|m4v|webm)$/i.test(name))
		return html`<figure class="picture"><video src="${source}" controls style="max-width:100%"></video><figcaption>${name}; if it does not play here, open the file itself</figcaption></figure>`;
	return html`<p><a href="${source}">${name}</a></p>`;
}

function readingPart(reading: Reading | null): SafePiece {
	if (reading === null)
		return section('reading', 'The reading they were made under', [
			paragraph('None was given: how true colour and detail of these pictures are is not known.'),
		]);
	return section('reading', 'The reading they were made under', [
		termList([
			['run', `${reading.runId}, ${reading.startedAt.slice(0, 16).replace('T', ' ')}`],
			['judged', reading.subject],
			['answer', reading.headline],
			...reading.figures,
		]),
		joinHtml([html`<p>All of it: <a href="reading.html">reading.html</a></p>`]),
		reading.figures.length === 0
			? nothing
			: paragraph(
					'The reading is of the link or kit at that time, not of these pictures one by one.',
					'small',
				),
	]);
}
