/**
 * The look back on the run, as this screen has it: asked for when the screen is opened, and again after each entry.
 */
import type { Review } from '../../config/wire/review.ts';
import type { ReplayDifference } from '../../config/wire/replay.ts';
import type { TruthTold } from '../../config/wire/truth.ts';
import { fetchDifferences } from '../link/requests.ts';
import { fetchReview } from '../link/review-requests.ts';
import { finds } from './finds.svelte.ts';

class Reviewing {
  review = $state.raw<Review | null>(null);
  differences = $state.raw<readonly ReplayDifference[] | null>(null);
  trouble = $state<string | null>(null);
  busy = $state(false);

  async load(): Promise<void> {
    this.busy = true;
    const answer = await fetchReview();
    this.trouble = answer.ok ? null : answer.why;
    if (answer.ok) this.review = answer.value;
    this.busy = false;
  }

  /** Another run. */
  forget(): void {
    this.review = null;
    this.differences = null;
    this.trouble = null;
  }

  async loadDifferences(): Promise<void> {
    const answer = await fetchDifferences();
    this.differences = answer.ok ? answer.value : null;
  }

  /** Null when it was taken, else a sentence. */
  async tell(told: TruthTold, photos: readonly File[]): Promise<string | null> {
    const refusal = await finds.tell(told, photos);
    await this.load();
    return refusal;
  }
}

export const reviewing = new Reviewing();
