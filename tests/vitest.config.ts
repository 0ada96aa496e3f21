/** How the tests run: the slowest files first, and what opens files, sockets or browsers in a process of its own. */
import { svelte } from '@sveltejs/vite-plugin-svelte';
import { resolve } from 'node:path';
import { defineConfig } from 'vitest/config';
import { BaseSequencer, type TestSpecification } from 'vitest/node';

const SCREENS = ['tests/browser/**/*.test.ts'];
/** Nothing but the core and the plant: they keep nothing, so that one process takes one file after the other. */
const PURE = [
  'alarms',
  'config',
  'contradictions',
  'diagnosis',
  'laws',
  'oracle',
  'published',
  'scenarios',
  'score',
  'ui',
].map((folder) => `tests/${folder}/**/*.test.ts`);
const LOADS = ['tests/kill/**/*.test.ts', 'tests/hostile/**/*.test.ts'];
/** Folders whose files wait for seconds to pass, or take long by themselves: begun last they would be waited for. */
const LONG = [/tests\/browser\//, /tests\/(gateway|replay|simulator|journal)\//, /tests\/(scenarios|score)\//];

class SlowestFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const rank = ({ moduleId }: TestSpecification): number => {
      const found = LONG.findIndex((folder) => folder.test(moduleId));
      return found < 0 ? LONG.length : found;
    };
    return (await super.sort(files)).sort((a, b) => rank(a) - rank(b));
  }
}

export default defineConfig({
  root: resolve(import.meta.dirname, '..'),
  plugins: [svelte()],
  resolve: { conditions: ['browser'] },
  test: {
    // Half of the files wait more than they compute, so there are more of them at once than there are cores. What loads
    // the machine on purpose runs after the rest: beside it a site that plays ten seconds in one would fall behind.
    projects: [
      {
        extends: true,
        test: {
          name: 'screens',
          include: SCREENS,
          globalSetup: 'tests/browser/build-screen.ts',
          maxWorkers: 4,
          sequence: { groupOrder: 0 },
        },
      },
      {
        extends: true,
        test: {
          name: 'rest',
          include: ['tests/**/*.test.ts'],
          exclude: [...SCREENS, ...PURE, ...LOADS],
          maxWorkers: 4,
          sequence: { groupOrder: 0 },
        },
      },
      {
        extends: true,
        test: { name: 'pure', include: PURE, isolate: false, maxWorkers: 4, sequence: { groupOrder: 0 } },
      },
      { extends: true, test: { name: 'loads', include: LOADS, maxWorkers: 2, sequence: { groupOrder: 1 } } },
    ],
    environment: 'node',
    pool: 'forks',
    sequence: { sequencer: SlowestFirst },
    // A test waits for states; these limits only end what never comes.
    testTimeout: 300_000,
    hookTimeout: 300_000,
    expect: { poll: { timeout: 60_000 } },
    allowOnly: false,
  },
});
