/**
 * The one maker of a channel's picture: live, when the diagnosis has failed, and out of the record.
 *
 * In: the channel, time, and what was concluded about it: the band that its value should stay in, and a doubt that
 * takes more than its own readings to see (shut off from what it should measure, drifting). Out: its picture. What its
 * own readings show against it, a value that stands still among them, is told whoever asks.
 */
import type { ChannelPicture } from '../../../config/wire/wire.ts';
import type { Channel } from './channel.ts';

export interface Concluded {
  readonly band: { readonly expected: number; readonly low: number | null; readonly high: number | null } | null;
  readonly found: 'stuck' | 'drifting' | null;
}

export function channelPicture(channel: Channel, nowMs: number, { band, found }: Concluded): ChannelPicture {
  const { sensor, latest } = channel;
  return {
    channel: sensor.id,
    quantity: sensor.quantity,
    value: latest?.value ?? null,
    atMs: latest?.atMs ?? null,
    freshness: channel.freshness(nowMs),
    doubt: found === 'stuck' ? found : (channel.doubt ?? found),
    expected: band?.expected ?? null,
    low: band?.low ?? null,
    high: band?.high ?? null,
  };
}

/** Of what was concluded before: a doubt that the readings alone do not show again. */
export function foundBefore(before: ChannelPicture | undefined): Concluded['found'] {
  return before?.doubt === 'stuck' || before?.doubt === 'drifting' ? before.doubt : null;
}
