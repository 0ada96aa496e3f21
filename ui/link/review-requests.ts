/**
 * What screens ask of the gateway's looking back: the look back itself, what was found, and that a find and its photos
 * be kept.
 *
 * Photos are drawn anew before they are sent: smaller, and without the place and camera that are stored in them.
 */
import type { Review } from '../../config/wire/review.ts';
import type { TruthEntry, TruthTold } from '../../config/wire/truth.ts';
import { ask, type Answer } from './requests.ts';

/** A day's record is read through for it. */
const PATIENCE_MS = 60_000;
const PHOTO_EDGE_PX = 2_000;

export async function fetchReview(): Promise<Answer<Review>> {
  return ask('/api/review', {}, PATIENCE_MS);
}

export async function sendTruth(told: TruthTold): Promise<Answer<{ readonly number: number }>> {
  return ask('/api/review/truth', {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify(told),
  });
}

export async function fetchFinds(): Promise<Answer<readonly TruthEntry[]>> {
  return ask('/api/review/truth', {});
}

export async function sendPhoto(
  entry: number,
  name: string,
  bytes: Blob,
): Promise<Answer<{ readonly number: number }>> {
  return ask(
    `/api/review/truth/${entry}/photo?name=${encodeURIComponent(name)}`,
    { method: 'POST', headers: { 'content-type': 'image/jpeg' }, body: bytes },
    PATIENCE_MS,
  );
}

/** Null: this browser cannot read it as a photo. */
export async function drawnAnew(photo: File): Promise<Blob | null> {
  try {
    const picture = await createImageBitmap(photo);
    const share = Math.min(1, PHOTO_EDGE_PX / Math.max(picture.width, picture.height));
    const canvas = document.createElement('canvas');
    canvas.width = Math.round(picture.width * share);
    canvas.height = Math.round(picture.height * share);
    canvas.getContext('2d')?.drawImage(picture, 0, 0, canvas.width, canvas.height);
    return await new Promise((done) => {
      canvas.toBlob(done, 'image/jpeg', 0.85);
    });
  } catch {
    return null;
  }
}
