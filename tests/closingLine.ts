/**
 * The last lines of a test run, in plain words: how many passed, failed and did not run. A browser test that did not
 * run for want of a browser is told apart, because "all green" must not mean "nobody looked".
 */
import type { Reporter, TestModule } from 'vitest/node';
import { findBrowser } from '../src/cli/installedBrowser.ts';

export default class ClosingLine implements Reporter {
	onTestRunEnd(modules: readonly TestModule[]): void {
		const counts = { passed: 0, failed: 0, skipped: 0, pending: 0 };
		let browserSkipped = 0;
		let brokenModules = 0;
		for (const module of modules) {
			if (module.state() === 'failed' && module.children.size === 0) brokenModules++;
			for (const test of module.children.allTests()) {
				const { state } = test.result();
				counts[state]++;
				if (state === 'skipped' && module.project.name === 'browser') browserSkipped++;
			}
		}
		if (browserSkipped > 0 && findBrowser() === null)
			process.stdout.write(
				`\n${browserSkipped} browser tests did NOT run: no Chromium was found (set STEERWORTHY_CHROMIUM to its path).\n`,
			);
		const failed = counts.failed + brokenModules;
		process.stdout.write(
			`\n${counts.passed} passed, ${failed} failed, ${counts.skipped + counts.pending} skipped\n`,
		);
	}
}
