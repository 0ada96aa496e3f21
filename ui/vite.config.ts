/**
 * Builds the screen: `vite build ui` puts it into `.build/ui` with hashed names.
 *
 * Nothing is inlined and nothing comes from elsewhere, so that the gateway can serve it under a strict content policy.
 */
import { fileURLToPath } from 'node:url';
import { svelte } from '@sveltejs/vite-plugin-svelte';
import { defineConfig } from 'vite';

export default defineConfig({
  root: fileURLToPath(new URL('.', import.meta.url)),
  plugins: [svelte({ configFile: false, compilerOptions: { runes: true } })],
  build: {
    outDir: fileURLToPath(new URL('../.build/ui', import.meta.url)),
    emptyOutDir: true,
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    target: 'es2022',
  },
});
