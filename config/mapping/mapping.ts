/**
 * How packets of foreign devices become records of devices that the layout knows: section `mappings:` of a site file.
 *
 * A mapping listens to one topic filter and says where in the payload each record stands and in which unit. It is data
 * only; gateway/ingest reads the packets by it. A value becomes SI by (raw x scale + offset) x factor + zero.
 */
import type { Pointer } from './json-pointer.ts';
import { matchesTopic } from './topic-filter.ts';

export interface Mapping {
  readonly id: string;
  /** MQTT topic filter. For Sparkplug: namespace/group/+/node, and /device where it is one behind a node. */
  readonly topic: string;
  readonly payload: 'json' | 'text' | 'sparkplug';
  readonly device: DeviceSpot;
  /** A list in the document, each row of which is a document of its own; null: the document is the only one. */
  readonly each: Pointer | null;
  /** Null: the time of receipt counts. */
  readonly time: { readonly at: Pointer; readonly as: TimeSpelling } | null;
  readonly records: readonly MappedRecord[];
}

/** Where the device's name stands: fixed, a level of the topic (counted from 1), or a member of the document. */
export type DeviceSpot =
  | { readonly kind: 'named'; readonly device: string }
  | { readonly kind: 'level'; readonly level: number }
  | { readonly kind: 'member'; readonly at: Pointer };

/** Seconds or milliseconds since 1970 UTC, or text by ISO 8601 with its zone. */
export const TIME_SPELLINGS = ['s', 'ms', 'iso'] as const;
type TimeSpelling = (typeof TIME_SPELLINGS)[number];

export interface MappedRecord {
  readonly record: string;
  /** Empty for a payload that is the value. */
  readonly at: Pointer;
  /** Name of a Sparkplug metric; else empty. */
  readonly metric: string;
  readonly scale: number;
  readonly offset: number;
  /** A 4-20 mA loop: what the ends mean, in the unit; null: the value is in the unit itself. */
  readonly loop: { readonly at4: number; readonly at20: number } | null;
  readonly factor: number;
  readonly zero: number;
  /** SenML name of the SI unit. */
  readonly unit: string;
  /** What it means when the value is not in the payload. */
  readonly absent: 'unknown' | 'zero';
  /** The number comes as text. */
  readonly text: boolean;
}

export function mappingsFor(mappings: readonly Mapping[], topic: string): readonly Mapping[] {
  return mappings.filter((mapping) => matchesTopic(subscriptionOf(mapping), topic));
}

/** A device's packets change the count of its node, and the node's death is the device's: both are listened to. */
export function subscriptionOf({ payload, topic }: Mapping): string {
  return payload === 'sparkplug' ? `${topic.split('/').slice(0, 4).join('/')}/#` : topic;
}

/** A foreign name as the layout spells names: small letters, digits and hyphens. */
export function deviceName(foreign: string): string {
  return foreign
    .toLowerCase()
    .replaceAll(/[^a-z0-9]+/g, '-')
    .replaceAll(/^-+|-+$/g, '');
}

/**
 * Who may speak on a topic, where there are passwords: the device that its packets are about, or an account by the name
 * of the mapping, for a server that passes on what many devices say.
 */
export function speakersOn(mappings: readonly Mapping[], topic: string): readonly string[] {
  const speakers = mappingsFor(mappings, topic).flatMap(({ id, device }) => {
    if (device.kind === 'named') return [id, device.device];
    return device.kind === 'level' ? [id, deviceName(topic.split('/')[device.level - 1] ?? '')] : [id];
  });
  return speakers.filter((name) => name !== '');
}
