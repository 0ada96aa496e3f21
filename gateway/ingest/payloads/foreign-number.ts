/**
 * One foreign value as a number in the unit of its mapping, or why it is none. Nothing is guessed.
 *
 * In: a value of a JSON document, or the text of a payload. Out: raw x scale + offset, or what a current loop means by
 * it. Loop currents by NAMUR NE 43 (2003): 3.8 to 20.5 mA measure, 3.6 and less or 21 and more are a fault of the
 * transmitter or its wire; between those the transmitter is at the end of its range.
 */
import type { MappedRecord } from '../../../config/mapping/mapping.ts';
import { refusal, type Refusal } from '../refusal.ts';

export interface ForeignNumber {
  readonly value: number;
  /** The sender is at the end of its range: the truth may lie beyond. */
  readonly saturated: boolean;
}

const PLAIN = /^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/;
const LOOP_MEASURES_MA = [3.8, 20.5] as const;
const LOOP_FAULTS_MA = [3.6, 21] as const;

export function readForeign(
  raw: unknown,
  { record, scale, offset, loop, text }: MappedRecord,
): ForeignNumber | Refusal {
  const number = readNumber(raw, text, record);
  if (typeof number !== 'number') return number;
  const scaled = number * scale;
  if (!loop) return { value: scaled + offset, saturated: false };
  if (scaled <= LOOP_FAULTS_MA[0]) return refusal('ingest/loop-broken', `${record}: ${scaled} mA`);
  if (scaled >= LOOP_FAULTS_MA[1]) return refusal('ingest/loop-shorted', `${record}: ${scaled} mA`);
  const value = loop.at4 + ((scaled - 4) / 16) * (loop.at20 - loop.at4);
  return { value, saturated: scaled < LOOP_MEASURES_MA[0] || scaled > LOOP_MEASURES_MA[1] };
}

function readNumber(raw: unknown, text: boolean, record: string): number | Refusal {
  if (typeof raw === 'number')
    return Number.isFinite(raw) ? raw : refusal('ingest/not-a-number', `${record} is ${raw}`);
  if (typeof raw !== 'string')
    return refusal('ingest/not-numeric', `${record} is ${raw === null ? 'null' : typeof raw}`);
  const word = raw.trim();
  const seen = `${record} is the text "${word.slice(0, 40)}"`;
  if (PLAIN.test(word)) {
    if (!text) return refusal('ingest/number-as-text', seen);
    return Number.isFinite(Number(word)) ? Number(word) : refusal('ingest/not-a-number', seen);
  }
  if (/^[+-]?\d[\d.]*,\d/.test(word)) return refusal('ingest/decimal-comma', seen);
  return refusal(/^[+-]?[\d.]+\s*\D/.test(word) ? 'ingest/unit-in-text' : 'ingest/not-a-number', seen);
}
