/**
 * The facts behind each kind of thing, as name and words in the units chosen: what was rigged, what is measured, what
 * the model expects.
 */
import type { Head, Layout, Pump, Sensor, Source } from '../../../config/layout/layout.ts';
import { SHOWN_AS } from '../../../config/units.ts';
import type { StructurePicture } from '../../../config/wire/wire.ts';
import { openingOf } from '../../state/conditions.ts';
import { troubleOfHead } from '../../state/need.ts';
import { site } from '../../state/site-view.svelte.ts';
import { labelOf, type Thing } from '../../state/things.ts';
import { FAMILIES, MOUNTS, ZONES } from '../../words/kit.ts';
import { lineWhy } from '../../words/lines.ts';
import { seenAgoWords } from '../../words/seen.ts';
import { doubtWords, FRESHNESS } from '../../words/states.ts';
import { fuelLeftWords, waterLeftWords } from '../../words/supply.ts';
import { durationWords, leftWords, rangeWords } from '../../words/time.ts';

export interface Fact {
  readonly name: string;
  readonly words: string;
}

export function factsOf(thing: Thing, layout: Layout): Fact[] {
  switch (thing.kind) {
    case 'head':
      return headFacts(thing.item, layout);
    case 'sensor':
      return sensorFacts(thing.item);
    case 'pump':
      return pumpFacts(thing.item);
    case 'source':
      return sourceFacts(thing.item, layout);
    case 'hose':
      return [
        { name: 'Kit', words: thing.item.kit.label },
        { name: 'Length', words: site.words(thing.item.lengthM, 'length') },
        { name: 'Belongs to', words: thing.item.line === null ? 'trunk' : labelOf(layout, thing.item.line) },
      ];
    case 'gate':
      return [
        { name: 'Opening', words: openingWords(openingOf(thing.item, site.picture)) },
        { name: 'Belongs to', words: thing.item.line === null ? 'trunk' : labelOf(layout, thing.item.line) },
      ];
    case 'structure': {
      const now = site.picture?.structures.find((one) => one.structure === thing.item.id);
      const heads = layout.heads.filter((head) => head.structure === thing.item.id);
      return [
        { name: 'Why', words: now?.why ?? 'no picture yet' },
        { name: 'Water, modelled', words: flowWords(now) },
        { name: 'Heads', words: heads.map((head) => head.label).join(', ') || 'none' },
        { name: 'Priority', words: String(thing.item.priority) },
      ];
    }
    case 'line':
      return [
        {
          name: 'Why',
          words: lineWhy(
            site.picture?.lines.find((one) => one.line === thing.item.id),
            layout,
            site.picture,
          ),
        },
        {
          name: 'Heads',
          words: layout.heads
            .filter((head) => head.line === thing.item.id)
            .map((head) => head.label)
            .join(', '),
        },
        ...lineFacts(thing.item.id),
      ];
    case 'place':
      return [{ name: 'Height', words: site.words(thing.item.elevationM, 'length') }];
  }
}

/** Water that falls at heads without turning pressure is no wetting. */
function flowWords(now: StructurePicture | undefined): string {
  const [all, spread] = [now?.flowM3s ?? null, now?.spreadM3s ?? null];
  if (all === null || spread === null || spread === all) return site.words(all, 'flow');
  return (
    `${site.words(all, 'flow')}, ${site.words(all - spread, 'flow')} of it not as wetting: under turning ` +
    'pressure, or a head in doubt'
  );
}

/** Only of a line with a fast sensor. */
function lineFacts(line: string): Fact[] {
  const rhythm = site.picture?.rhythms.find((one) => one.line === line);
  const [shock] = site.picture?.shocks.filter((one) => one.line === line) ?? [];
  const heard = (count: number, heads: number): string =>
    count === 0
      ? 'none heard at the baseline: a stall cannot be seen here'
      : `${count} heard at the baseline, ${heads} impact head${heads === 1 ? '' : 's'}`;
  return [
    ...(rhythm ? [{ name: 'Beats', words: heard(rhythm.ratesHz.length, rhythm.heads) }] : []),
    ...(shock
      ? [
          {
            name: 'Last shock',
            words:
              `${site.time(shock.atMs)}, up to ` +
              `${site.words(shock.topPa, 'pressure')}${shock.after === null ? '' : `, after: ${shock.after}`}`,
          },
        ]
      : []),
  ];
}

/** Nobody measures a gate. */
function openingWords(opening: number | null): string {
  return opening === null ? 'not known' : `${Math.round(100 * opening)} % open, as logged`;
}

/** With the core down its memory of walk-rounds is not at hand. */
export function unseenWords(): string {
  return site.picture?.advice.working ? 'nobody has said so' : 'not known while the diagnosis is down';
}

/** How long ago a head was seen turning, and whether that was before a trouble at it. */
export function seenAgo(head: Head, seenMs: number, layout: Layout): string {
  const troubleMs = site.picture && troubleOfHead(head, layout, site.picture);
  return seenAgoWords(seenMs, troubleMs, (atMs) => site.sinceS(atMs));
}

function headFacts(head: Head, layout: Layout): Fact[] {
  const now = site.picture?.heads.find((one) => one.head === head.id);
  const { kit } = head;
  const seen = now?.seenTurningMs ?? null;
  return [
    { name: 'Pressure, modelled', words: site.words(now?.pressurePa ?? null, 'pressure') },
    { name: 'Flow, modelled', words: site.words(now?.flowM3s ?? null, 'flow') },
    {
      name: 'Turns between',
      words: `${site.words(kit.turnPaMin, 'pressure')} and ${site.words(kit.turnPaMax, 'pressure')}`,
    },
    { name: 'Survives up to', words: site.words(kit.survivesPa, 'pressure') },
    {
      name: 'Last seen turning',
      words: seen === null ? unseenWords() : `${site.time(seen)}, ${seenAgo(head, seen, layout)}`,
    },
    { name: 'Kit', words: `${kit.label} (${FAMILIES[kit.family]}), ${MOUNTS[head.mount]}` },
    { name: 'For', words: `${labelOf(layout, head.structure)}, ${ZONES[head.zone]}` },
    { name: 'Fed by', words: labelOf(layout, head.line) },
    {
      name: 'Rated throw',
      words:
        `${site.words(kit.throwM, 'length')}${head.arcDeg < 360 ? `, ${head.arcDeg}° of arc` : ''}; wind ` +
        'not counted',
    },
  ];
}

function sensorFacts(sensor: Sensor): Fact[] {
  const channel = site.newest(sensor.id);
  const what = SHOWN_AS[sensor.quantity];
  const ageS = site.ageS(channel);
  const measured = site.words(channel?.value ?? null, what);
  const then = channel?.freshness === 'stale' ? ' when last heard' : '';
  const band =
    channel?.low == null || channel.high === null
      ? 'none can be given'
      : `${site.amount(channel.low, what).text} to ${site.words(channel.high, what)}`;
  return [
    {
      name: 'Measured',
      words: `${channel?.doubt === 'over-range' ? 'at least ' : ''}${measured}${then}`,
    },
    {
      name: 'Expected',
      words: channel?.expected == null ? 'no expected value now' : site.words(channel.expected, what),
    },
    { name: 'Band', words: band },
    {
      name: 'Age',
      words:
        `${ageS === null ? 'never heard' : durationWords(ageS)} ` +
        `(${FRESHNESS[channel?.freshness ?? 'never'].word})`,
    },
    { name: 'Doubt', words: doubtWords(channel?.doubt ?? null) ?? 'none' },
    { name: 'Device', words: `${site.measuredBy(sensor)}, every ${durationWords(sensor.intervalS)}` },
  ];
}

function pumpFacts(pump: Pump): Fact[] {
  const now = site.picture?.pumps.find((one) => one.pump === pump.id);
  return [
    { name: 'Discharge', words: site.words(now?.dischargePa ?? null, 'pressure') },
    { name: 'Suction', words: site.words(now?.suctionPa ?? null, 'pressure') },
    { name: 'Flow', words: site.words(now?.flowM3s ?? null, 'flow') },
    { name: 'Speed', words: site.words(now?.rotationHz ?? null, 'rotation') },
    {
      name: 'Fuel',
      words: `${site.words(now?.fuelM3 ?? null, 'volume')}: ${fuelLeftWords(now)}`,
    },
    {
      name: 'Kit',
      words:
        `${pump.kit.label}, ` +
        `${pump.kit.control === 'governor' ? 'governed: hides what the hose lay does' : 'hand throttle'}`,
    },
  ];
}

function sourceFacts(source: Source, layout: Layout): Fact[] {
  const now = site.picture?.supplies.find((one) => one.source === source.id);
  if (source.shape.kind === 'open-water')
    return [{ name: 'Volume', words: 'open water: no volume to run out; the level is not judged' }];
  return [
    { name: 'Water in it', words: site.words(now?.volumeM3 ?? null, 'volume') },
    { name: 'Usable', words: site.words(now?.usableM3 ?? null, 'volume') },
    {
      name: 'Trend',
      words:
        now?.trendM3s == null
          ? 'not known yet'
          : `${now.trendM3s < 0 ? 'falling' : 'rising'} ${site.words(Math.abs(now.trendM3s), 'flow')}`,
    },
    {
      name: 'Empty in',
      words: waterLeftWords(source, now),
    },
    {
      name: 'First head under turning pressure',
      words: now?.firstShort
        ? `${labelOf(layout, now.firstShort.head)} in ${leftWords(now.firstShort.inS.best)} ` +
          `(${rangeWords(now.firstShort.inS)})`
        : 'none before the suction runs dry, or not known',
    },
  ];
}
