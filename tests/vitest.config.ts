/** How the tests run: the slowest files first, those that wait beside those that compute. */
import { svelte } from '@sveltejs/vite-plugin-svelte';
import { resolve } from 'node:path';
import { defineConfig } from 'vitest/config';
import { BaseSequencer, type TestSpecification } from 'vitest/node';

const tests = (folders: readonly string[]): string[] => folders.map((folder) => `tests/${folder}/**/*.test.ts`);
/** Nothing but the core and the plant; and what loads the machine on purpose. */
const COMPUTING = tests(['contradictions', 'diagnosis', 'laws', 'oracle', 'scenarios', 'score', 'kill', 'hostile']);
/** Folders whose files wait for seconds to pass, or take long by themselves: begun last they would be waited for. */
const LONG = [/tests\/browser\//, /tests\/(gateway|replay|simulator|journal|kill)\//, /tests\/(scenarios|score)\//];

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
    // Most files of the first group wait more than they compute, so there are more of them at once than there are
    // cores. What loads the machine runs after them: beside it a site that plays ten seconds in one would fall behind.
    projects: [
      {
        extends: true,
        test: {
          name: 'waiting',
          include: ['tests/**/*.test.ts'],
          exclude: COMPUTING,
          globalSetup: 'tests/browser/build-screen.ts',
          maxWorkers: 6,
          sequence: { groupOrder: 0 },
        },
      },
      { extends: true, test: { name: 'computing', include: COMPUTING, maxWorkers: 4, sequence: { groupOrder: 1 } } },
    ],
    environment: 'node',
    pool: 'forks',
    // No file leaves anything behind in its process, so the next one takes it over with all that is loaded.
    isolate: false,
    sequence: { sequencer: SlowestFirst },
    // A test waits for states; these limits only end what never comes.
    testTimeout: 300_000,
    hookTimeout: 300_000,
    expect: { poll: { timeout: 60_000 } },
    allowOnly: false,
  },
});
