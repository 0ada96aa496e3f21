/**
 * Reads a packet of a foreign device by its mapping: a JSON document, a list of rows in one, or a bare number.
 *
 * In: mapping, topic, bytes. Out: for each device named in it a pack of records like those of SenML, with SI units, and
 * what was refused. A value that is not there is unknown, and stays unfiled; 'absent means zero' counts only where what
 * should hold it is there, so that a message of another kind on the same topic is no row of zeros. null is unknown in
 * any case.
 */
import { follow, type Pointer } from '../../../config/mapping/json-pointer.ts';
import { deviceName, type MappedRecord, type Mapping } from '../../../config/mapping/mapping.ts';
import { readForeign } from './foreign-number.ts';
import { refusal, type Refusal } from '../refusal.ts';
import { PACKET_BYTES_MAX, RECORDS_MAX, type SenmlPack, type SenmlRecord, type SenmlTime } from './senml.ts';

export interface DevicePack extends SenmlPack {
  readonly device: string;
}

export function readMapped(mapping: Mapping, topic: string, bytes: Uint8Array): DevicePack {
  const text = textOf(bytes);
  if (typeof text !== 'string') return packOf(mapping, topic, null, [], [text]);
  if (mapping.payload === 'text') {
    const [only] = mapping.records;
    return packOf(mapping, topic, null, only ? [recordOf(only, text, { kind: 'none' })] : [], []);
  }
  let document: unknown;
  try {
    document = JSON.parse(text);
  } catch (error) {
    return packOf(
      mapping,
      topic,
      null,
      [],
      [refusal('ingest/not-json', error instanceof Error ? error.message : 'no JSON')],
    );
  }
  const rows = rowsOf(document, mapping.each);
  if ('reason' in rows) return packOf(mapping, topic, document, [], [rows]);
  const read = rows.flatMap((row) => readRow(row, mapping));
  const nothing =
    read.length === 0 && mapping.records.length > 0 ? [refusal('ingest/nothing-mapped', text.slice(0, 80))] : [];
  return packOf(mapping, topic, document, read, nothing);
}

function textOf(bytes: Uint8Array): string | Refusal {
  if (bytes.byteLength > PACKET_BYTES_MAX)
    return refusal('ingest/too-large', `${bytes.byteLength} bytes, at most ${PACKET_BYTES_MAX} are read`);
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    return refusal('ingest/not-utf8', 'bytes that are no UTF-8');
  }
}

function rowsOf(document: unknown, each: Pointer | null): readonly unknown[] | Refusal {
  if (each === null) return [document];
  const list = follow(document, each);
  const where = `/${each.join('/')}`;
  if (!list.found || !Array.isArray(list.value))
    return refusal('ingest/no-rows', `${where} is ${list.found ? 'no list' : 'not there'}`);
  return list.value.length > RECORDS_MAX
    ? refusal('ingest/too-many-records', `${list.value.length} rows, at most ${RECORDS_MAX} are read`)
    : (list.value as unknown[]);
}

function readRow(row: unknown, { records, time }: Mapping): (SenmlRecord | Refusal)[] {
  const present = records.flatMap((record) => {
    const at = follow(row, record.at);
    if (at.found) return at.value === null ? [] : [{ record, raw: at.value }];
    const isHolder = typeof at.parent === 'object' && at.parent !== null && !Array.isArray(at.parent);
    return record.absent === 'zero' && isHolder ? [{ record, raw: record.text ? '0' : 0 }] : [];
  });
  if (present.length === 0) return [];
  const when = time ? readTime(row, time) : { kind: 'none' as const };
  return 'reason' in when ? [when] : present.map(({ record, raw }) => recordOf(record, raw, when));
}

function recordOf(mapped: MappedRecord, raw: unknown, time: SenmlTime): SenmlRecord | Refusal {
  const read = readForeign(raw, mapped);
  if ('reason' in read) return read;
  return {
    name: mapped.record,
    unit: mapped.unit,
    value: read.value * mapped.factor + mapped.zero,
    time,
    ...(read.saturated ? { saturated: true } : {}),
  };
}

/** ISO 8601 with its zone: a time without one is off by hours somewhere. */
const ISO = /^\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d(\.\d+)?)?(Z|[+-]\d\d:?\d\d)$/;

function readTime(row: unknown, { at, as }: NonNullable<Mapping['time']>): SenmlTime | Refusal {
  const found = follow(row, at);
  const where = `/${at.join('/')}`;
  if (!found.found) return refusal('ingest/no-time', `${where} is not there`);
  const { value } = found;
  const atMs =
    as === 'iso'
      ? typeof value === 'string' && ISO.test(value)
        ? Date.parse(value)
        : Number.NaN
      : typeof value === 'number'
        ? value * (as === 's' ? 1_000 : 1)
        : Number.NaN;
  return Number.isFinite(atMs)
    ? { kind: 'absolute', atMs: Math.round(atMs) }
    : refusal('ingest/bad-foreign-time', `${where} is ${JSON.stringify(value)?.slice(0, 60)}`);
}

function packOf(
  { device }: Mapping,
  topic: string,
  document: unknown,
  read: readonly (SenmlRecord | Refusal)[],
  refused: readonly Refusal[],
): DevicePack {
  const found = device.kind === 'member' ? follow(document, device.at) : null;
  const foreign =
    device.kind === 'level'
      ? topic.split('/')[device.level - 1]
      : found?.found && typeof found.value === 'string'
        ? found.value
        : undefined;
  const name = device.kind === 'named' ? device.device : deviceName(foreign ?? '');
  const nameless = name === '' && refused.length === 0 ? [refusal('ingest/no-device', topic)] : [];
  const records = nameless.length > 0 ? [] : read.filter((one): one is SenmlRecord => !('reason' in one));
  return {
    device: name,
    records,
    refused: [...refused, ...nameless, ...read.filter((one): one is Refusal => 'reason' in one)],
    simulated: false,
  };
}
