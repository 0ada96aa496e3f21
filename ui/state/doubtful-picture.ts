/**
 * What is left of a picture when no newer one came: nothing in it may be drawn as the state of things now.
 *
 * In: the last picture. Out: the same with every state unknown, every reading stale, no expectation and no forecast.
 * That the link is down is said by the screen itself, so whether the diagnosis worked stays as it was last told.
 */
import { namesOf, staleChannel, unknownPicture } from '../../config/wire/unknown-picture.ts';
import type { Picture } from '../../config/wire/wire.ts';

export function doubtful(picture: Picture): Picture {
  return unknownPicture(namesOf(picture), picture, {
    atMs: picture.atMs,
    simulated: picture.simulated,
    advice: picture.advice,
    why: 'nothing new has come from the gateway',
    channels: picture.channels.map(staleChannel),
    blind: ['Nothing new has come from the gateway: all of it is as it was last heard, and may have changed since.'],
  });
}
