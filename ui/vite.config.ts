/**
 * Builds the screen: `vite build ui` puts it into `.build/ui` with hashed names.
 *
 * Nothing is inlined and nothing comes from elsewhere, so that the gateway can serve it under a strict content policy.
 * All styles come with the first screen: a style that could not be fetched would leave a later screen bare.
 */
import { resolve } from 'node:path';
import { svelte } from '@sveltejs/vite-plugin-svelte';
import { defineConfig } from 'vite';
import { screenList, WORKER_FILE } from './keep/screen-list.ts';

const here = (path: string): string => resolve(import.meta.dirname, path);

export default defineConfig({
  root: here('.'),
  plugins: [svelte({ configFile: false, compilerOptions: { runes: true } }), screenList(here('public'))],
  build: {
    outDir: here('../.build/ui'),
    emptyOutDir: true,
    assetsInlineLimit: 0,
    cssCodeSplit: false,
    modulePreload: { polyfill: false },
    target: 'es2022',
    rolldownOptions: {
      input: { index: here('index.html'), worker: here('keep/worker.ts') },
      // The worker's address is where it may serve from, and must stay the same from build to build.
      output: { entryFileNames: ({ name }) => (name === 'worker' ? WORKER_FILE : 'assets/[name]-[hash].js') },
    },
  },
});
