/**
 * The one maker of a picture in which nothing is known of now: the diagnosis has failed, nothing was recorded, or
 * nothing new has come.
 *
 * In: what there is (names, by the layout or by the last picture), the last picture if there is one, and what is said
 * instead. Out: a picture whose states are unknown and whose numbers are null. As last known stay: alarms, what is set
 * aside, notes, the baseline, the mode people set until its time is up, shocks with their time, who saw which head
 * turn. Dropping alarms would look like all is well. Fails closed: each maker gives all members by name and copies
 * none, so a new one must be given its 'unknown' here, or the compiler complains.
 */
import type { Layout } from '../layout/layout.ts';
import type {
  ChannelPicture,
  HeadPicture,
  LinePicture,
  Picture,
  PumpPicture,
  StructurePicture,
  SupplyPicture,
} from './wire.ts';

/** What there is on a site. */
export interface SiteNames {
  readonly pumps: readonly string[];
  readonly sources: readonly string[];
  readonly lines: readonly string[];
  readonly structures: readonly string[];
  readonly heads: readonly string[];
}

export interface SaidInstead {
  readonly atMs: number;
  readonly simulated: boolean;
  readonly advice: Picture['advice'];
  /** One clause: why lines and structures are unknown. */
  readonly why: string;
  /** What was measured, or what is left of it (`staleChannel`). */
  readonly channels: readonly ChannelPicture[];
  readonly blind: readonly string[];
}

/** Every member, also one that may be left out: undefined leaves it out. */
export type Told<Whole> = { readonly [Name in Exclude<keyof Whole, never>]: Whole[Name] };

export function namesIn({ pumps, sources, lines, structures, heads }: Layout): SiteNames {
  const ids = (items: readonly { readonly id: string }[]): string[] => items.map(({ id }) => id);
  return {
    pumps: ids(pumps),
    sources: ids(sources),
    lines: ids(lines),
    structures: ids(structures),
    heads: ids(heads),
  };
}

/** For a screen that has nothing but its last picture. */
export function namesOf({ pumps, supplies, lines, structures, heads }: Picture): SiteNames {
  return {
    pumps: pumps.map(({ pump }) => pump),
    sources: supplies.map(({ source }) => source),
    lines: lines.map(({ line }) => line),
    structures: structures.map(({ structure }) => structure),
    heads: heads.map(({ head }) => head),
  };
}

export function unknownPicture(names: SiteNames, last: Picture | null, said: SaidInstead): Picture {
  const { atMs, simulated, advice, why, channels, blind } = said;
  const seenTurningMs = new Map(last?.heads.map((head) => [head.head, head.seenTurningMs]));
  return told<Picture>({
    atMs,
    simulated,
    advice,
    baseline: last?.baseline ?? null,
    steady: null,
    mode: last?.mode && last.mode.untilMs > atMs ? last.mode : null,
    channels,
    outside: [],
    pumps: names.pumps.map(unknownPump),
    supplies: names.sources.map(unknownSupply),
    lines: names.lines.map((line) =>
      told<LinePicture>({ line, state: 'unknown', why, heads: undefined, last: undefined }),
    ),
    structures: names.structures.map((structure) => unknownStructure(structure, why)),
    heads: names.heads.map((head) => unknownHead(head, seenTurningMs.get(head) ?? null)),
    // Nobody measures them, and what people have told since has not come here.
    gates: [],
    shocks: last?.shocks ?? [],
    rhythms: [],
    alarms: last?.alarms ?? [],
    setAside: last?.setAside ?? [],
    alarmLoad: null,
    notes: last?.notes ?? [],
    blind,
  });
}

/** The last value stays for reading, marked as stale, with what was known against it; nothing is expected of it. */
export function staleChannel({ channel, quantity, value, atMs, freshness, doubt }: ChannelPicture): ChannelPicture {
  return told<ChannelPicture>({
    channel,
    quantity,
    value,
    atMs,
    freshness: freshness === 'never' ? 'never' : 'stale',
    doubt,
    expected: null,
    low: null,
    high: null,
  });
}

function unknownPump(pump: string): PumpPicture {
  return told<PumpPicture>({
    pump,
    state: 'unknown',
    dischargePa: null,
    suctionPa: null,
    flowM3s: null,
    rotationHz: null,
    fuelM3: null,
    fuelLeftS: null,
  });
}

/** Nothing is known of a source: no level is heard, or none could be. */
export function unknownSupply(source: string): SupplyPicture {
  return told<SupplyPicture>({
    source,
    volumeM3: null,
    usableM3: null,
    trendM3s: null,
    filling: false,
    emptyInS: null,
    firstShort: null,
  });
}

function unknownStructure(structure: string, why: string): StructurePicture {
  return told<StructurePicture>({
    structure,
    state: 'unknown',
    why,
    flowM3s: null,
    tally: null,
    heads: undefined,
    last: undefined,
    spreadM3s: null,
  });
}

function unknownHead(head: string, seenTurningMs: number | null): HeadPicture {
  return told<HeadPicture>({ head, state: 'unknown', pressurePa: null, flowM3s: null, seenTurningMs });
}

function told<Whole extends object>(all: Told<Whole>): Whole {
  return Object.fromEntries(Object.entries(all).filter(([, value]) => value !== undefined)) as Whole;
}
