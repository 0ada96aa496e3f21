/**
 * Follows Sparkplug B edge nodes (Eclipse Sparkplug Specification 3.0.0): births, deaths, aliases, and the count of
 * their packets.
 *
 * In: packets below spBv1.0/GROUP/TYPE/NODE, in order of arrival, and the mappings that want them. Out: records as of
 * SenML, devices that are born or dead, and records that are not known any more. A metric is known by its name, or by
 * the alias that the newest birth gave it. A packet missing from the count may have been a birth, so aliases are in
 * doubt until the next one: this gateway only listens, and never asks a node for a rebirth. Names stay good. Historical
 * values are filed and never live.
 */
import type { Mapping } from '../../../config/mapping/mapping.ts';
import { readForeign } from './foreign-number.ts';
import type { DevicePack } from './mapped-payload.ts';
import { refusal, type Refusal } from '../refusal.ts';
import type { SenmlRecord } from './senml.ts';
import { openSparkplug, valueOf, type Metric, type SparkplugPayload } from './sparkplug-payload.ts';

export interface SparkplugNews {
  readonly packs: readonly DevicePack[];
  readonly lives: readonly { readonly device: string; readonly online: boolean }[];
  /** What a device has said, or its death says, is not known now. */
  readonly silenced: readonly { readonly device: string; readonly record: string }[];
}

interface Meaning {
  readonly name: string;
  readonly datatype: number | null;
}

/** The node itself, or a device behind it. */
interface Owner {
  readonly byAlias: Map<string, Meaning>;
  readonly byName: Map<string, Meaning>;
  inDoubt: boolean;
}

interface Node {
  /** By device, null being the node itself; of those that a mapping wants. */
  readonly owners: Map<string | null, Owner>;
  birthNumber: number | null;
  seq: number | null;
}

const GOOD_QUALITY = 192;

export class Sparkplug {
  readonly #nodes = new Map<string, Node>();

  take(topic: string, payload: Uint8Array, retained: boolean, mappings: readonly Mapping[]): SparkplugNews {
    const [, group, type = '', name, device = null, ...rest] = topic.split('/');
    const whose = `${group}/${name}${device === null ? '' : `/${device}`}`;
    const mine = mappings.filter(({ topic: wanted }) => (wanted.split('/')[4] ?? null) === device);
    const speaker = deviceOf(mine[0] ?? mappings[0]);
    const refused = (one: Refusal): DevicePack => ({ device: speaker, records: [], refused: [one], simulated: false });
    // Commands are between others, and what a node and its device may say is told apart by the topic.
    if (!/^[ND](BIRTH|DATA|DEATH)$/.test(type) || (type[0] === 'D') !== (device !== null) || rest.length > 0)
      return NOTHING;
    if (retained) return { ...NOTHING, packs: [refused(refusal('ingest/retained-sparkplug', whose))] };
    const opened = openSparkplug(payload);
    if ('reason' in opened) return { ...NOTHING, packs: [refused(opened)] };
    const node = this.#node(`${group}/${name}`);
    if (type === 'NDEATH')
      return (
        this.#nodeDied(node, opened, mappings) ?? { ...NOTHING, packs: [refused(refusal('ingest/old-death', whose))] }
      );
    const gap = type === 'NBIRTH' ? null : this.#count(node, opened, whose);
    const gaps = gap ? [refused(gap)] : [];
    if (type === 'NBIRTH') this.#nodeBorn(node, opened);
    if (type.endsWith('BIRTH') && mine.length > 0) node.owners.set(device, ownerOf(opened));
    if (type === 'DDEATH') {
      node.owners.delete(device);
      return { packs: gaps, ...deathOf(mine) };
    }
    const read = mine.map((mapping) => readFor(mapping, opened, node.owners.get(device), whose));
    return {
      packs: [...gaps, ...read.map(({ pack }) => pack)],
      lives: type.endsWith('BIRTH') ? mine.map((mapping) => ({ device: deviceOf(mapping), online: true })) : [],
      silenced: read.flatMap(({ silenced }) => silenced),
    };
  }

  #node(key: string): Node {
    const node = this.#nodes.get(key) ?? { owners: new Map<string | null, Owner>(), birthNumber: null, seq: null };
    this.#nodes.set(key, node);
    return node;
  }

  /** Null: the last will of an earlier life, come late; the node has been born again since. */
  #nodeDied(node: Node, payload: SparkplugPayload, mappings: readonly Mapping[]): SparkplugNews | null {
    const died = birthNumber(payload);
    if (died !== null && node.birthNumber !== null && died !== node.birthNumber) return null;
    node.owners.clear();
    node.seq = null;
    return { packs: [], ...deathOf(mappings) };
  }

  #nodeBorn(node: Node, payload: SparkplugPayload): void {
    node.owners.clear();
    node.birthNumber = birthNumber(payload);
    node.seq = payload.seq;
  }

  /**
   * Counts 0 to 255 over all packets of a node and its devices but deaths of the node (6.4.5). The same number again is
   * a packet delivered twice.
   */
  #count(node: Node, { seq }: SparkplugPayload, whose: string): Refusal | null {
    const before = node.seq;
    if (seq !== null) node.seq = seq;
    if (seq === null || before === null || seq === before) return null;
    const lost = (seq - before - 1 + 256) % 256;
    if (lost === 0) return null;
    for (const owner of node.owners.values()) owner.inDoubt = true;
    return refusal(
      'ingest/sequence-gap',
      `${whose}: ${lost} packet${lost > 1 ? 's' : ''} missing before number ${seq}`,
    );
  }
}

const NOTHING: SparkplugNews = { packs: [], lives: [], silenced: [] };

function deviceOf(mapping: Mapping | undefined): string {
  return mapping?.device.kind === 'named' ? mapping.device.device : '';
}

function readFor(
  mapping: Mapping,
  payload: SparkplugPayload,
  owner: Owner | undefined,
  whose: string,
): { readonly pack: DevicePack; readonly silenced: SparkplugNews['silenced'] } {
  const records: SenmlRecord[] = [];
  const refused: Refusal[] = [];
  const silenced: { device: string; record: string }[] = [];
  const device = deviceOf(mapping);
  for (const metric of payload.metrics) {
    const meaning = meaningOf(metric, owner, whose);
    if ('reason' in meaning) {
      // Once a packet: most of its metrics may be none of ours.
      if (!refused.some(({ reason }) => reason === meaning.reason)) refused.push(meaning);
      continue;
    }
    for (const mapped of mapping.records.filter((one) => one.metric === meaning.name)) {
      const read = readMetric(metric, meaning, payload, mapped);
      if (read === null || ('reason' in read && read.reason === 'ingest/bad-quality'))
        silenced.push({ device, record: mapped.record });
      if (read === null) continue;
      if ('reason' in read) refused.push(read);
      else records.push(read);
    }
  }
  return { pack: { device, records, refused, simulated: false }, silenced };
}

function ownerOf({ metrics }: SparkplugPayload): Owner {
  const owner: Owner = { byAlias: new Map(), byName: new Map(), inDoubt: false };
  for (const { name, alias, datatype } of metrics) {
    if (name === null || name === '') continue;
    owner.byName.set(name, { name, datatype });
    if (alias !== null) owner.byAlias.set(alias, { name, datatype });
  }
  return owner;
}

function deathOf(mappings: readonly Mapping[]): Pick<SparkplugNews, 'lives' | 'silenced'> {
  return {
    lives: mappings.map((mapping) => ({ device: deviceOf(mapping), online: false })),
    silenced: mappings.flatMap((mapping) =>
      mapping.records.map(({ record }) => ({ device: deviceOf(mapping), record })),
    ),
  };
}

/** The number that a node's birth and its last will share. */
function birthNumber({ metrics }: SparkplugPayload): number | null {
  const value = metrics.find(({ name }) => name === 'bdSeq')?.value;
  return value && 'whole' in value ? Number(value.whole) : null;
}

function meaningOf({ name, alias, datatype }: Metric, owner: Owner | undefined, whose: string): Meaning | Refusal {
  if (name !== null && name !== '') return { name, datatype: datatype ?? owner?.byName.get(name)?.datatype ?? null };
  if (alias === null) return refusal('ingest/bad-metric', `${whose}: a metric without name and alias`);
  if (!owner) return refusal('ingest/no-birth', `${whose}: alias ${alias}`);
  if (owner.inDoubt) return refusal('ingest/alias-in-doubt', `${whose}: alias ${alias}`);
  const meaning = owner.byAlias.get(alias);
  return meaning
    ? { name: meaning.name, datatype: datatype ?? meaning.datatype }
    : refusal('ingest/no-birth', `${whose}: alias ${alias} was in no birth`);
}

/** Null: the node says that it has no value. */
function readMetric(
  metric: Metric,
  { name, datatype }: Meaning,
  payload: SparkplugPayload,
  mapped: Mapping['records'][number],
): SenmlRecord | Refusal | null {
  if (metric.isNull) return null;
  if (metric.quality !== null && metric.quality !== GOOD_QUALITY)
    return refusal('ingest/bad-quality', `${name}: quality ${metric.quality}`);
  const value = valueOf(metric, datatype);
  if (value === null)
    return metric.value === null
      ? refusal('ingest/no-value', name)
      : refusal('ingest/no-birth', `${name}: a whole number whose data type no birth has named`);
  const read = readForeign(value, mapped);
  if ('reason' in read) return read;
  const atMs = metric.timeMs ?? payload.timeMs;
  return {
    name: mapped.record,
    unit: mapped.unit,
    value: read.value * mapped.factor + mapped.zero,
    time: atMs === null ? { kind: 'none' } : { kind: 'absolute', atMs },
    ...(read.saturated ? { saturated: true } : {}),
    ...(metric.historical ? { historical: true } : {}),
  };
}
