/**
 * What people found on site in this run, with their photos: asked for by the screens that show it, told from any of
 * them in one way.
 */
import type { TruthEntry, TruthTold } from '../../config/wire/truth.ts';
import { drawnAnew, fetchFinds, sendPhoto, sendTruth } from '../link/review-requests.ts';

class Finds {
  entries = $state.raw<readonly TruthEntry[]>([]);
  trouble = $state<string | null>(null);

  async load(): Promise<void> {
    const answer = await fetchFinds();
    this.trouble = answer.ok ? null : answer.why;
    if (answer.ok) this.entries = answer.value;
  }

  /** Another run. */
  forget(): void {
    this.entries = [];
    this.trouble = null;
  }

  /**
   * Null when all of it was taken, else a sentence. A photo that cannot be read stops the whole before anything is
   * sent.
   */
  async tell(told: TruthTold, photos: readonly File[]): Promise<string | null> {
    const drawn = await Promise.all(photos.map(async (photo) => ({ name: photo.name, bytes: await drawnAnew(photo) })));
    const unread = drawn.filter(({ bytes }) => bytes === null).map(({ name }) => name);
    if (unread.length > 0)
      return `Nothing was sent: this browser cannot read ${unread.join(', ')} as a photo. Take a JPEG, PNG or WebP.`;
    const answer = await sendTruth(told);
    if (!answer.ok) return answer.why;
    const refused: string[] = [];
    for (const { name, bytes } of drawn) {
      const sent = await sendPhoto(answer.value.number, name, bytes!);
      if (!sent.ok) refused.push(`${name}: ${sent.why}`);
    }
    await this.load();
    return refused.length === 0 ? null : `It was noted, but not every photo was taken. ${refused.join(' ')}`;
  }
}

export const finds = new Finds();
