/**
 * Opens a SenML pack in CBOR (RFC 8428 section 6): the same records as in JSON, with numbers for labels.
 *
 * In: the bytes of one packet. Out: records as maps from the JSON label to its value, for senml.ts to read, or a
 * refusal. JSON and CBOR share a topic and are told apart by the first byte: a CBOR array begins with 0x80 to 0x9f, or
 * with the mark 0xd9 of a self-described item (RFC 8949 section 3.4.6), and no JSON text can. Decimal fractions (tag 4)
 * are numbers here. Limit: integers beyond 2^53 and big floats (tag 5) are refused; no sensor needs them.
 */
import { decode, type DecodeOptions } from 'cborg';
import { refusal, type Refusal } from '../refusal.ts';

/** RFC 8428 section 6, table 4. */
const LABELS: ReadonlyMap<unknown, string> = new Map([
  [-1, 'bver'],
  [-2, 'bn'],
  [-3, 'bt'],
  [-4, 'bu'],
  [-5, 'bv'],
  [-6, 'bs'],
  [0, 'n'],
  [1, 'u'],
  [2, 'v'],
  [3, 'vs'],
  [4, 'vb'],
  [5, 's'],
  [6, 't'],
  [7, 'ut'],
  [8, 'vd'],
]);

const DECIMAL_FRACTION = 4;
const SELF_DESCRIBED = 55_799;

const OPTIONS: DecodeOptions = {
  useMaps: true,
  rejectDuplicateMapKeys: true,
  tags: {
    [DECIMAL_FRACTION]: (content) => decimalFraction(content()),
    [SELF_DESCRIBED]: (content) => content(),
  },
};

export function isCbor(bytes: Uint8Array): boolean {
  const first = bytes[0] ?? 0;
  return (first >= 0x80 && first <= 0x9f) || first === 0xd9;
}

export function openCbor(bytes: Uint8Array): readonly unknown[] | Refusal {
  let items: unknown;
  try {
    items = decode(bytes, OPTIONS);
  } catch (error) {
    return refusal('ingest/not-cbor', error instanceof Error ? error.message : 'no CBOR');
  }
  return Array.isArray(items) ? items.map(labelled) : refusal('ingest/not-a-pack', 'a CBOR item that is no array');
}

/** What is no map stays as it is, and is refused as a record later. */
function labelled(item: unknown): unknown {
  if (!(item instanceof Map)) return item;
  const members = new Map<string, unknown>();
  for (const [key, value] of item as Map<unknown, unknown>) {
    const label = LABELS.get(key) ?? String(key);
    // A label written as number and as text is two members of one name.
    if (members.has(label)) return label;
    members.set(
      label,
      label === 'vd' && value instanceof Uint8Array ? Buffer.from(value).toString('base64url') : value,
    );
  }
  return members;
}

/** Mantissa times ten to the exponent, read as JSON would read it: 27315e-2 is the number nearest to 273.15. */
function decimalFraction(content: unknown): number {
  const [exponent, mantissa] = Array.isArray(content) ? (content as unknown[]) : [];
  const whole = Number.isSafeInteger(exponent) && Number.isSafeInteger(mantissa);
  return whole ? Number(`${String(mantissa)}e${String(exponent)}`) : Number.NaN;
}
