/** Sites of the demonstration, for tests of the edges of the gateway. */
import type { Layout } from '../../config/layout/layout.ts';
import { readSiteFile } from '../../gateway/launch/site-file.ts';

export function demoSite(): { readonly layout: Layout; readonly text: string } {
  return siteNamed('larch-cove');
}

export function siteNamed(name: string): { readonly layout: Layout; readonly text: string } {
  const file = readSiteFile(`config/sites/${name}.yaml`);
  if (!file.ok) throw new Error(file.why);
  return file;
}
