/** How the tests run: one process a file, because the journal's engine is native code. */
import { svelte } from '@sveltejs/vite-plugin-svelte';
import { resolve } from 'node:path';
import { defineConfig } from 'vitest/config';

const LOADS = ['tests/kill/**/*.test.ts', 'tests/hostile/**/*.test.ts'];

export default defineConfig({
  root: resolve(import.meta.dirname, '..'),
  plugins: [svelte()],
  resolve: { conditions: ['browser'] },
  test: {
    // What loads the machine on purpose runs after the rest: beside it a site that plays ten seconds in one would fall
    // behind.
    projects: [
      {
        extends: true,
        test: { name: 'rest', include: ['tests/**/*.test.ts'], exclude: LOADS, sequence: { groupOrder: 0 } },
      },
      { extends: true, test: { name: 'loads', include: LOADS, sequence: { groupOrder: 1 } } },
    ],
    environment: 'node',
    pool: 'forks',
    maxWorkers: 2,
    testTimeout: 30_000,
    hookTimeout: 30_000,
    allowOnly: false,
  },
});
