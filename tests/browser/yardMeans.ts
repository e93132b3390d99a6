/** What the console needs for a yard check, as the command gives it. */
import { judgeFolder, writeConclusion } from '../../src/cli/conclude.ts';
import { homeReading } from '../../src/cli/yardCommand.ts';
import { readingOf } from '../../src/cli/yardRun.ts';
import type { ConsoleOptions } from '../../src/console/console.ts';
import { standardCriteria } from '../../src/verdict/criteria.ts';

export const yardMeans: ConsoleOptions['yard'] = {
	newName: () => 'yard',
	conclude: async (folder) => {
		const conclusion = await judgeFolder(folder, standardCriteria);
		await writeConclusion(folder, conclusion);
		return { result: conclusion.result, reading: readingOf(conclusion) };
	},
	home: homeReading,
};
