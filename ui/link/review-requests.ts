/**
 * What the screen Review asks of the gateway: the look back, and that a find and its photos be kept.
 *
 * Photos are drawn anew before they are sent: smaller, and without the place and camera that are stored in them.
 */
import type { Review } from '../../config/review.ts';
import type { TruthTold } from '../../config/truth.ts';
import { ask, type Answer } from './requests.ts';

/** A day's record is read through for it. */
const PATIENCE_MS = 60_000;
const PHOTO_EDGE_PX = 2_000;

export async function fetchReview(): Promise<Answer<Review>> {
  return ask('/api/review', {}, PATIENCE_MS);
}

export async function sendTruth(told: TruthTold): Promise<Answer<{ readonly number: number }>> {
  return ask('/api/review/truth', { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify(told) });
}

export async function sendPhoto(entry: number, photo: File): Promise<Answer<{ readonly number: number }>> {
  const drawn = await redrawn(photo);
  if (!drawn) return { ok: false, why: 'this browser cannot read it as a photo.' };
  return ask(`/api/review/truth/${entry}/photo?name=${encodeURIComponent(photo.name)}`, { method: 'POST', headers: { 'content-type': 'image/jpeg' }, body: drawn }, PATIENCE_MS);
}

async function redrawn(photo: File): Promise<Blob | null> {
  try {
    const picture = await createImageBitmap(photo);
    const share = Math.min(1, PHOTO_EDGE_PX / Math.max(picture.width, picture.height));
    const canvas = document.createElement('canvas');
    canvas.width = Math.round(picture.width * share);
    canvas.height = Math.round(picture.height * share);
    canvas.getContext('2d')?.drawImage(picture, 0, 0, canvas.width, canvas.height);
    return await new Promise((done) => { canvas.toBlob(done, 'image/jpeg', 0.85); });
  } catch {
    return null;
  }
}
