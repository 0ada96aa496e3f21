/**
 * Why something that came in was refused: one catalogue of codes, each with what puts it right.
 *
 * A refusal is data, never an exception: it is counted, kept with its newest example and shown on the screen. `detail`
 * says what was seen; the remedy is for the person who looks after the device.
 */
import type { FeedPicture } from '../../config/wire/feed.ts';
import { RefusedTopics } from './transport/refused-topics.ts';

export const REFUSALS = {
  'ingest/bad-topic': 'publish to wetdown/SITE/DEVICE/senml, or /status, or to a topic that the site file maps',
  'ingest/not-allowed':
    "a device publishes below its own name only: give it its own topic, or the other device's account",
  'ingest/simulated':
    'not believed: point a simulator at a gateway that was started to take it (--accept-simulator), never at this one',
  'ingest/too-large': 'send fewer records in one packet',
  'ingest/not-utf8': 'send the JSON as UTF-8',
  'ingest/not-json':
    'send a JSON array of SenML records; numbers have a decimal point, not a comma, and NaN is not JSON',
  'ingest/not-cbor': 'send a CBOR array of SenML records with the labels of RFC 8428, or JSON',
  'ingest/not-a-pack': 'send an array with at least one SenML record',
  'ingest/too-many-records': 'send fewer records in one packet',
  'ingest/bad-record': 'every record of a pack is an object, each label once',
  'ingest/unknown-version': 'send SenML of version 10 (RFC 8428)',
  'ingest/must-understand': 'leave out members whose name ends in _: this gateway knows none',
  'ingest/bad-base': 'bn and bu are texts; bt, bv and bs are numbers',
  'ingest/bad-name': 'names are made of letters, digits and - : . / _ and start with a letter or a digit',
  'ingest/bad-time': 't and ut are numbers of seconds',
  'ingest/bad-unit': 'u is a text such as "Pa"',
  'ingest/no-value': 'give every record a number in v; a sum alone is no reading',
  'ingest/several-values': 'give every record one value only',
  'ingest/not-a-number': 'write v as a plain finite number: 412.6, not "412.6", not 412,6',
  'ingest/not-numeric': 'this channel is measured: send a number in v',
  'ingest/no-unit': 'name the unit in u or bu: it is never guessed',
  'ingest/unknown-unit': 'use a unit that the README lists',
  'ingest/wrong-unit': 'use a unit of the quantity that the site file gives this sensor',
  'ingest/not-a-ratio': 'in SenML % is a ratio from 0 to 1: use /100 for a percentage',
  'ingest/replaced':
    'another device was given this place: switch this one off, or give the place back to it on the screen Devices',
  'ingest/undated': 'give retained packets an absolute time: without it nobody knows how old they are',
  'ingest/decimal-comma': 'write a decimal point: with a comma nobody knows whether thousands are meant',
  'ingest/unit-in-text': 'send the number alone: its unit is in the mapping',
  'ingest/number-as-text': "this number comes as text: say 'text: true' in the mapping if that is meant",
  'ingest/loop-broken': 'a 4-20 mA loop at 3.6 mA or less: look for a broken wire or a failed transmitter',
  'ingest/loop-shorted': 'a 4-20 mA loop at 21 mA or more: look for a short or a failed transmitter',
  'ingest/nothing-mapped':
    'no value that the mapping asks for stands in this packet: check its pointers, or narrow its topic',
  'ingest/no-rows': "check the pointer in 'each' of the mapping: a list is needed there",
  'ingest/no-time': "check the pointer in 'time' of the mapping, or leave it out and let the time of receipt count",
  'ingest/bad-foreign-time': "check 'as' in 'time' of the mapping; text needs its zone, such as 2026-07-14T20:01:02Z",
  'ingest/no-device': "check 'device' of the mapping: no name stands there",
  'ingest/not-sparkplug': 'send Sparkplug B payloads (spBv1.0) on this topic',
  'ingest/retained-sparkplug': 'send Sparkplug packets without the retain flag, as their specification asks',
  'ingest/old-death': 'nothing to do: the last will of an earlier life came after the new birth',
  'ingest/sequence-gap':
    'values by name are taken; what has an alias cannot be resolved until the next birth, which this ' +
    'gateway never asks for: let the node be born again',
  'ingest/alias-in-doubt':
    'cannot be resolved until the next birth, because a lost packet may have given the aliases anew; a ' +
    'node that sends names has no such trouble',
  'ingest/no-birth':
    'cannot be resolved until the next birth, which this gateway never asks for: let the node be born ' +
    'again, or send names and data types',
  'ingest/bad-metric': 'give each metric a name or an alias',
  'ingest/bad-quality': 'the node itself says that this value is not good: look at the sensor',
  'ingest/bad-status': 'send online or offline',
  'ingest/bad-beat': 'this topic belongs to the simulator',
} as const;

export type RefusalCode = keyof typeof REFUSALS;

export interface Refusal {
  readonly reason: RefusalCode;
  readonly detail: string;
}

/** Of these somebody looks for who sends them: by topic. */
const BY_TOPIC: readonly string[] = [
  'ingest/bad-topic',
  'ingest/not-allowed',
  'ingest/simulated',
  'ingest/too-large',
] satisfies readonly RefusalCode[];
/** What was refused for who sent it or how large it was, which the kept bytes do not tell again. */
const AT_THE_DOOR = ['ingest/not-allowed', 'ingest/simulated', 'ingest/too-large'] as const;

/** A packet of a record that was refused at the door is refused when it is played again. */
export function refusedThen(verdict: string): Refusal | null {
  const reason = AT_THE_DOOR.find((one) => one === verdict);
  return reason ? { reason, detail: 'as it was refused when it came' } : null;
}

const SHOWN = 160;
/** Of a topic, a name or a payload that a stranger sent. */
const SHOWN_OF_STRANGERS = 400;

export function refusal(reason: RefusalCode, detail: string): Refusal {
  return { reason, detail: printable(detail, SHOWN) };
}

/** What a stranger sent, made safe to show: no control characters, no endless text. */
export function printable(text: string, length = SHOWN_OF_STRANGERS): string {
  const clean = text.slice(0, length).replaceAll(/[\p{Cc}\p{Cf}\p{Cs}]/gu, '\u00B7');
  return text.length > length ? `${clean}\u2026` : clean;
}

export function shownPayload(payload: Uint8Array): string {
  return printable(new TextDecoder().decode(payload.subarray(0, 4 * SHOWN_OF_STRANGERS)));
}

/** Refusals by reason, with the newest of each. */
export class RefusalTally {
  readonly #rows = new Map<string, FeedPicture['rejected'][number]>();
  readonly #topics = new Map<string, RefusedTopics>();

  /** `hint`: the topic that was probably meant. */
  count(refused: readonly Refusal[], topic: string, lastMs: number, hint: string | null = null): void {
    const shown = printable(topic);
    for (const { reason, detail } of refused) {
      const count = (this.#rows.get(reason)?.count ?? 0) + 1;
      this.#rows.set(reason, { reason, count, lastMs, topic: shown, detail: `${detail}: ${REFUSALS[reason]}` });
      if (!BY_TOPIC.includes(reason)) continue;
      const topics = this.#topics.get(reason) ?? new RefusedTopics();
      this.#topics.set(reason, topics);
      topics.count(shown, hint, lastMs);
    }
  }

  get picture(): FeedPicture['rejected'] {
    return [...this.#rows.values()].map((row) => {
      const topics = this.#topics.get(row.reason);
      return topics ? { ...row, topics: topics.picture } : row;
    });
  }
}
