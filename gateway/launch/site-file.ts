/**
 * Reads the site's layout from disk for the start: the layout and its text, or everything that is wrong, in words.
 */
import { readFileSync } from 'node:fs';
import { formatFault } from '../../config/layout/layout-fault.ts';
import { parseLayout } from '../../config/layout/layout-parser.ts';
import type { Layout } from '../../config/layout/layout.ts';

export type SiteFile =
  { readonly ok: true; readonly layout: Layout; readonly text: string } | { readonly ok: false; readonly why: string };

export function readSiteFile(path: string): SiteFile {
  let text: string;
  try {
    text = readFileSync(path, 'utf8');
  } catch (error) {
    return {
      ok: false,
      why: `Cannot read the site file ${path}: ${error instanceof Error ? error.message : String(error)}`,
    };
  }
  const parsed = parseLayout(text, path);
  if (parsed.ok) return { ok: true, layout: parsed.layout, text };
  const count = parsed.faults.length;
  return {
    ok: false,
    why:
      `${parsed.faults.map(formatFault).join('\n')}\n${count} ${count === 1 ? 'fault' : 'faults'} in ` +
      `${path}: nothing was started.`,
  };
}
