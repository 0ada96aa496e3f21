/**
 * Whether this page survives a reload without the gateway: a worker that keeps it is asked for once the screen stands.
 *
 * Out: `kept` once all of this very screen is on the device. Browsers allow a worker over https with a trusted
 * certificate, and on the gateway's own machine; over plain http to another machine a reload without the gateway loses
 * the page, and the screen says so.
 */
import { ownScreen } from '../link/screen-files.ts';

const ADDRESS = '/worker.js';
const SHELF = 'wetdown-screen-';

class PageKeeping {
  kept = $state(false);
  #begun = false;

  /** Also after a new build was found: a newer worker brings the newer screen. */
  async begin(): Promise<void> {
    if (this.#begun || !('serviceWorker' in navigator) || ownScreen() === '') return;
    this.#begun = true;
    navigator.serviceWorker.addEventListener('controllerchange', () => void this.look());
    try {
      await navigator.serviceWorker.register(ADDRESS, { updateViaCache: 'none' });
      await navigator.serviceWorker.ready;
    } catch {
      // The gateway is gone, or its certificate is not trusted: a worker of before may still keep the page.
      this.#begun = false;
    }
    await this.look();
  }

  /** Whether all of this very screen is here, whatever becomes of the gateway. */
  async look(): Promise<boolean> {
    try {
      const registered = await navigator.serviceWorker.getRegistration();
      this.kept = registered?.active != null && (await caches.has(SHELF + ownScreen()));
    } catch {
      // No worker here: plain http to another machine.
      this.kept = false;
    }
    return this.kept;
  }
}

export const pageKeeping = new PageKeeping();
