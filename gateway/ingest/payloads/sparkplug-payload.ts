/**
 * Opens the payload of a Sparkplug B packet: protocol buffers with the field numbers of the published schema.
 *
 * In: bytes. Out: time, count and metrics, with numbers as they were sent, or a refusal. Source: Eclipse Sparkplug
 * Specification 3.0.0 (also ISO/IEC 20237), chapter 6. Data sets, templates, files and property sets within property
 * sets are passed over.
 */
import { BinaryReader, WireType } from '@bufbuild/protobuf/wire';
import { refusal, type Refusal } from '../refusal.ts';
import { PACKET_BYTES_MAX, RECORDS_MAX } from './senml.ts';

export interface Metric {
  name: string | null;
  /** A number of 64 bits, as text. */
  alias: string | null;
  timeMs: number | null;
  /** Number of the data type; births name it, later packets need not. */
  datatype: number | null;
  historical: boolean;
  isNull: boolean;
  /**
   * Whole numbers are unsigned on the wire: only the data type tells the sign. Null: none, or none that can be
   * measured.
   */
  value: { readonly whole: bigint } | { readonly plain: number | boolean | string } | null;
  /** Property 'Quality' (6.4.14 there): 192 is good, 0 bad, 500 stale; null: not said. */
  quality: number | null;
}

export interface SparkplugPayload {
  readonly timeMs: number | null;
  readonly seq: number | null;
  readonly metrics: readonly Metric[];
}

const UTF8 = new TextDecoder();

export function openSparkplug(bytes: Uint8Array): SparkplugPayload | Refusal {
  if (bytes.byteLength > PACKET_BYTES_MAX)
    return refusal('ingest/too-large', `${bytes.byteLength} bytes, at most ${PACKET_BYTES_MAX} are read`);
  const payload: { timeMs: number | null; seq: number | null; metrics: Metric[] } = {
    timeMs: null,
    seq: null,
    metrics: [],
  };
  try {
    eachField(bytes, (field, reader) => {
      if (field === 1) payload.timeMs = Number(reader.uint64());
      else if (field === 2) payload.metrics.push(readMetric(reader.bytes()));
      else if (field === 3) payload.seq = Number(reader.uint64());
      else return false;
      return true;
    });
  } catch (error) {
    return refusal('ingest/not-sparkplug', error instanceof Error ? error.message : 'no payload');
  }
  return payload.metrics.length > RECORDS_MAX
    ? refusal('ingest/too-many-records', `${payload.metrics.length} metrics, at most ${RECORDS_MAX} are read`)
    : payload;
}

/** `read` takes a field, or says false to have it passed over. */
function eachField(bytes: Uint8Array, read: (field: number, reader: BinaryReader, type: WireType) => boolean): void {
  const reader = new BinaryReader(bytes, (text) => UTF8.decode(text));
  while (reader.pos < reader.len) {
    const [field, type] = reader.tag();
    if (!read(field, reader, type)) reader.skip(type, field);
  }
}

function readMetric(bytes: Uint8Array): Metric {
  const metric: Metric = {
    name: null,
    alias: null,
    timeMs: null,
    datatype: null,
    historical: false,
    isNull: false,
    value: null,
    quality: null,
  };
  eachField(bytes, (field, reader) => {
    if (field === 1) metric.name = reader.string();
    else if (field === 2) metric.alias = String(reader.uint64());
    else if (field === 3) metric.timeMs = Number(reader.uint64());
    else if (field === 4) metric.datatype = reader.uint32();
    else if (field === 5) metric.historical = reader.bool();
    else if (field === 7) metric.isNull = reader.bool();
    else if (field === 9) metric.quality = readQuality(reader.bytes());
    else if (field === 10) metric.value = { whole: BigInt(reader.uint32()) };
    else if (field === 11) metric.value = { whole: BigInt(reader.uint64()) };
    else if (field === 12) metric.value = { plain: reader.float() };
    else if (field === 13) metric.value = { plain: reader.double() };
    else if (field === 14) metric.value = { plain: reader.bool() };
    else if (field === 15) metric.value = { plain: reader.string() };
    else return false;
    return true;
  });
  return metric;
}

function readQuality(bytes: Uint8Array): number | null {
  const keys: string[] = [];
  const values: (number | null)[] = [];
  eachField(bytes, (field, reader) => {
    if (field === 1) keys.push(reader.string());
    else if (field === 2) values.push(readWhole(reader.bytes()));
    else return false;
    return true;
  });
  return values[keys.indexOf('Quality')] ?? null;
}

function readWhole(bytes: Uint8Array): number | null {
  let whole: number | null = null;
  eachField(bytes, (field, reader) => {
    if (field === 3) whole = reader.uint32();
    else if (field === 4) whole = Number(reader.uint64());
    else return false;
    return true;
  });
  return whole;
}

/** Bits of the signed whole numbers by data type; some senders widen a negative number and some do not. */
const SIGNED_BITS: ReadonlyMap<number, number> = new Map([
  [1, 8],
  [2, 16],
  [3, 32],
  [4, 64],
]);
const UNSIGNED = new Set([5, 6, 7, 8]);

/** The value as its data type means it; null: a whole number of a type that nobody has named. */
export function valueOf({ value }: Metric, datatype: number | null): number | boolean | string | null {
  if (value === null) return null;
  if ('plain' in value) return value.plain;
  const bits = SIGNED_BITS.get(datatype ?? 0);
  if (bits !== undefined) return Number(BigInt.asIntN(bits, value.whole));
  return UNSIGNED.has(datatype ?? 0) ? Number(value.whole) : null;
}
