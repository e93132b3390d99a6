/**
 * A run read from its text, line by line, so that eight hours need not be in memory as text.
 *
 * A last line that is not whole is what a pulled plug leaves: everything before it stands. A line in the middle that is
 * not whole is left out, counted and named. A whole line that contradicts its own kind is no accident of writing, and the
 * file is refused with its line and key.
 */
import { OutsideFailure } from '../failure.ts';
import { RunBuilder } from './placeRun.ts';
import { parseRecord } from './recordText.ts';
import type { ReadingNote, Run } from './run.ts';

export class RunReader {
	readonly #builder = new RunBuilder();
	#lineNumber = 0;
	#kept = 0;
	readonly #tornLines: number[] = [];
	readonly #unknown = new Map<string, number>();

	/** One line without its line break. Throws `OutsideFailure` as `parseRecord` does, except for a torn line. */
	feedLine(text: string): void {
		this.#lineNumber++;
		if (text.trim() === '') return;
		const record = this.#parse(text);
		if (record === null) return;
		if (record.kind === 'unknown') this.#unknown.set(record.name, (this.#unknown.get(record.name) ?? 0) + 1);
		else {
			this.#builder.add(record);
			this.#kept++;
		}
	}

	/** The run of all lines fed. Throws `OutsideFailure` when there was no header. */
	finish(): Run {
		return this.#builder.finish([...this.#tornNotes(), ...this.#unknownNotes()]);
	}

	#parse(text: string): ReturnType<typeof parseRecord> | null {
		try {
			return parseRecord(text, this.#lineNumber);
		} catch (error) {
			// Nothing kept yet: this file has no header to stand on, so the tear is the whole story.
			if (!(error instanceof OutsideFailure) || error.code !== 'lineTorn' || this.#kept === 0) throw error;
			this.#tornLines.push(this.#lineNumber);
			return null;
		}
	}

	#tornNotes(): ReadingNote[] {
		const notes: ReadingNote[] = [];
		const middle = this.#tornLines.filter((line) => line !== this.#lineNumber);
		if (middle.length > 0)
			notes.push({
				code: 'tornLine',
				seen: `${middle.length} lines in the middle were not whole and were left out, the first at line ${middle[0]}`,
				advice: 'What those lines held is not known, lost pictures perhaps: measure again before saying yes.',
			});
		if (middle.length < this.#tornLines.length)
			notes.push({
				code: 'tornLastLine',
				seen: `the last line, ${this.#lineNumber}, was not whole; everything before it was used`,
				advice: 'The run was cut off. What it holds stands; a full-length answer needs a fresh run.',
			});
		return notes;
	}

	#unknownNotes(): ReadingNote[] {
		return [...this.#unknown].map(([name, count]) => ({
			code: 'unknownKind',
			seen: `${count} records of the kind "${name}", unknown to this version, were left aside`,
			advice: 'A later version of the tool may know them.',
		}));
	}
}
