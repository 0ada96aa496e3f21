/** Sites of the demonstration, for tests of the edges of the gateway. */
import type { Layout } from '../../config/layout/layout.ts';
import type { RunFacts } from '../../gateway/journal/run-file.ts';
import { readSiteFile } from '../../gateway/launch/site-file.ts';

export function demoSite(): { readonly layout: Layout; readonly text: string } {
  return siteNamed('larch-cove');
}

export function siteNamed(name: string): { readonly layout: Layout; readonly text: string } {
  const file = readSiteFile(`config/sites/${name}.yaml`);
  if (!file.ok) throw new Error(file.why);
  return file;
}

/** What a run file of the demonstration says of its run, begun at a moment by every clock. */
export function demoFacts(startMs: number): RunFacts {
  const { layout, text } = demoSite();
  return {
    layout,
    layoutText: text,
    software: '0.1.0',
    simulated: false,
    startedMs: startMs,
    startedWallMs: startMs,
  };
}
