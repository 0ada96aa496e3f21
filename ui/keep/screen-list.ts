/**
 * Build step: names everything that the screen consists of, so that all of it can be brought onto the device, and gives
 * the whole one identity.
 *
 * Out: `screen.json` (identity, addresses, and which of them each later screen needs) beside `index.html`; the identity
 * in the page's own head; both in the worker that keeps the page. The identity is a hash of what was built: another
 * byte, another screen.
 */
import { createHash } from 'node:crypto';
import { readdirSync, readFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import type { Plugin, Rolldown } from 'vite';

export const LIST_FILE = 'screen.json';
export const WORKER_FILE = 'worker.js';
const NO_IDENTITY = '<meta name="screen" content="" />';

export function screenList(publicFolder: string): Plugin {
  return {
    name: 'screen-list',
    apply: 'build',
    enforce: 'post',
    generateBundle(_options, bundle) {
      const page = bundle['index.html'];
      const worker = bundle[WORKER_FILE];
      if (page?.type !== 'asset' || worker?.type !== 'chunk') throw new Error('no page or no worker was built');
      const hash = createHash('sha256');
      const built = Object.values(bundle).sort((a, b) => (a.fileName < b.fileName ? -1 : 1));
      for (const one of built)
        hash
          .update(one.fileName)
          .update('\0')
          .update(one.type === 'chunk' ? one.code : one.source);
      const still = readdirSync(publicFolder).sort();
      for (const name of still)
        hash
          .update(name)
          .update('\0')
          .update(readFileSync(join(publicFolder, name)));
      const id = hash.digest('hex').slice(0, 12);
      const files = [
        '/',
        ...built.filter((one) => one !== page && one !== worker).map((one) => `/${one.fileName}`),
        ...still.map((name) => `/${name}`),
      ];
      const html = String(page.source);
      if (!html.includes(NO_IDENTITY)) throw new Error('index.html has no place for the identity');
      page.source = html.replace(NO_IDENTITY, `<meta name="screen" content="${id}" />`);
      worker.code = worker.code
        .replace(/(["'`])SCREEN_ID\1/, JSON.stringify(id))
        .replace(/(["'`])SCREEN_FILES\1/, JSON.stringify(JSON.stringify(files)));
      const screens = Object.fromEntries(
        built.flatMap((one) =>
          one.type === 'chunk' && one.isDynamicEntry && one.facadeModuleId
            ? [[basename(one.facadeModuleId, '.svelte'), [...needed(one.fileName, bundle)].map((file) => `/${file}`)]]
            : [],
        ),
      );
      this.emitFile({ type: 'asset', fileName: LIST_FILE, source: JSON.stringify({ id, files, screens }) });
    },
  };
}

/** A file and all that it imports. */
function needed(file: string, bundle: Rolldown.OutputBundle, found = new Set<string>()): Set<string> {
  const chunk = bundle[file];
  if (found.has(file) || chunk?.type !== 'chunk') return found;
  found.add(file);
  for (const other of chunk.imports) needed(other, bundle, found);
  return found;
}
