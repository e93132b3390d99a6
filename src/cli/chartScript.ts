/** The chart library's own single-file build, as text, to be laid into the report so that it opens with no network. */
import { readFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';

export async function readChartScript(): Promise<string> {
	const module = fileURLToPath(import.meta.resolve('chart.js'));
	return readFile(module.replace(/chart\.js$/, 'chart.umd.min.js'), 'utf8');
}
