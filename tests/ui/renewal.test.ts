/** Whether this page is what the gateway serves: a gateway that is not reached never makes it load itself anew. */
import { afterEach, describe, expect, it, vi } from 'vitest';
import { renewal } from '../../ui/state/renewal.svelte.ts';

const served = (list: unknown): void => {
  vi.stubGlobal('document', { querySelector: () => ({ content: 'build-1' }) });
  vi.stubGlobal('fetch', () =>
    list === null ? Promise.reject(new TypeError('no way there')) : Promise.resolve(Response.json(list)),
  );
};
afterEach(() => void vi.unstubAllGlobals());

describe('the page', () => {
  it('stays where the gateway has the same screen, or was not reached, or tells none', async () => {
    for (const list of [{ id: 'build-1', screens: {} }, null, {}]) {
      served(list);
      await renewal.check();
      expect(renewal.why).toBeNull();
    }
  });
});
