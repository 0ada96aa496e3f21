/**
 * The state of any one thing of the layout as the picture has it, in mark and word; and which alarms point at it.
 *
 * In: thing, picture, layout. Trunk hose and open gates take the state of what runs through them. Without a picture
 * everything is unknown.
 */
import type { Gate, Layout, Source } from '../../config/layout/layout.ts';
import type { Alarm, ChannelPicture, Picture } from '../../config/wire/wire.ts';
import { pumpNow } from '../words/pump-question.ts';
import type { StateWords } from '../words/marks.ts';
import { FRESHNESS, HEAD_STATES, LINE_STATES, PUMP_STATES, sideOfReading, standing } from '../words/states.ts';
import type { Thing } from './things.ts';

const UNKNOWN: StateWords = LINE_STATES.unknown;
/** Nothing measures a gate: what is said of it is what was rigged, and what people have logged since. */
const OPEN: StateWords = { word: 'open, as logged', shape: 'dot', tone: 'calm' };
const PART_OPEN: StateWords = { word: 'part open, as logged', shape: 'half', tone: 'calm' };
const SHUT: StateWords = { word: 'shut, as logged', shape: 'bar', tone: 'calm' };
const LOOKS_SHUT: StateWords = { word: 'looks shut', shape: 'bar', tone: 'medium' };
const CARRYING: StateWords = { ...LINE_STATES['as-modelled'], word: 'carrying water' };
const INSIDE: StateWords = { word: 'inside its band', shape: 'dot', tone: 'calm' };
const INSIDE_BUT_ONE: StateWords = { word: 'inside its band but for the last reading', shape: 'dot', tone: 'calm' };
/** Each state is one object, so that what shows it is not drawn anew while it lasts. */
const OUTSIDE = {
  below: {
    evident: { word: 'below its band', shape: 'wedge', tone: 'medium' },
    alone: { word: 'below its band', shape: 'wedge', tone: 'calm' },
  },
  above: {
    evident: { word: 'above its band', shape: 'arrow', tone: 'medium' },
    alone: { word: 'above its band', shape: 'arrow', tone: 'calm' },
  },
} as const;
const AT_LEAST: StateWords = { word: 'past its range', shape: 'query', tone: 'unsure' };
const DOUBTED: StateWords = { word: 'in doubt', shape: 'query', tone: 'unsure' };
const NO_BAND: StateWords = { word: 'fresh, nothing to compare with', shape: 'ring', tone: 'calm' };
const WHILE_FILLING: StateWords = { word: 'fresh, not compared while filling', shape: 'ring', tone: 'calm' };
const FILLING: StateWords = { word: 'being filled', shape: 'half', tone: 'calm' };
const LOW_WATER: StateWords = { word: 'low', shape: 'wedge', tone: 'medium' };
const KNOWN_LEVEL: StateWords = { word: 'level known', shape: 'dot', tone: 'calm' };

export function conditionOf(thing: Thing, picture: Picture | null, layout: Layout): StateWords {
  if (!picture) return UNKNOWN;
  const { id } = thing.item;
  switch (thing.kind) {
    case 'line':
      return lineWords(id, picture);
    case 'structure':
      return LINE_STATES[picture.structures.find((one) => one.structure === id)?.state ?? 'unknown'];
    case 'head':
      return HEAD_STATES[picture.heads.find((one) => one.head === id)?.state ?? 'unknown'];
    case 'pump':
      return pumpNow(thing.item, picture);
    case 'hose':
      return thing.item.line === null ? trunkWords(picture, layout) : lineWords(thing.item.line, picture);
    case 'gate':
      return gateWords(thing.item, picture);
    case 'sensor':
      return channelWords(picture.channels.find((one) => one.channel === id) ?? null, picture);
    case 'source':
      return sourceWords(thing.item, picture);
    case 'place':
      return placeWords(id, picture, layout);
  }
}

function lineWords(line: string, picture: Picture): StateWords {
  return LINE_STATES[picture.lines.find((one) => one.line === line)?.state ?? 'unknown'];
}

/** The trunk has no state of its own on the wire: what the pumps do, unless an alarm is about it. */
function trunkWords(picture: Picture, layout: Layout): StateWords {
  const states = layout.pumps.map((pump) => ({
    pump,
    state: picture.pumps.find((one) => one.pump === pump.id)?.state,
  }));
  const runs = states.filter(({ state }) => state === 'running');
  const flows = runs.some(({ pump }) => pumpNow(pump, picture) === PUMP_STATES.running);
  const flagged = [...picture.alarms, ...picture.setAside].some(
    ({ verdict, clearedMs }) => verdict.subjectKind === 'trunk' && clearedMs === null,
  );
  if (flows) return flagged ? LINE_STATES.changed : CARRYING;
  if (states.some(({ state }) => state === 'starting')) return LINE_STATES.filling;
  if (runs.length > 0 || states.some(({ state }) => state === 'dead-head')) return LINE_STATES.down;
  return states.every(({ state }) => state === 'stopped') ? LINE_STATES['rigged-dry'] : UNKNOWN;
}

function gateWords(gate: Gate, picture: Picture): StateWords {
  const suspected = picture.alarms.some(
    ({ verdict, clearedMs }) =>
      clearedMs === null && verdict.cause === 'gate-shut' && verdict.places.some((place) => place.id === gate.id),
  );
  if (suspected) return LOOKS_SHUT;
  const opening = openingOf(gate, picture);
  if (opening === null) return UNKNOWN;
  return opening === 0 ? SHUT : opening < 1 ? PART_OPEN : OPEN;
}

/** 0 shut .. 1 open, as rigged and as people have told the gateway since; null: not known. */
export function openingOf(gate: Gate, picture: Picture | null): number | null {
  return picture?.gates.find((one) => one.gate === gate.id)?.opening ?? null;
}

/** While the lay fills, no band is a yardstick yet. */
export function channelWords(channel: ChannelPicture | null, picture: Picture | null): StateWords {
  if (!channel) return UNKNOWN;
  if (channel.freshness !== 'fresh') return FRESHNESS[channel.freshness];
  if (channel.doubt === 'over-range') return AT_LEAST;
  if (channel.doubt) return DOUBTED;
  if (picture?.pumps.some((pump) => pump.state === 'starting')) return WHILE_FILLING;
  const where = standing(channel, picture?.outside);
  if (where === null) return NO_BAND;
  if (where === 'inside') return sideOfReading(channel) === 'inside' ? INSIDE : INSIDE_BUT_ONE;
  // One reading in some hundreds strays by chance: colour is for what an alarm stands on.
  const evident = picture?.alarms.some(
    (alarm) => alarm.clearedMs === null && alarm.verdict.evidence.some((one) => one.channel === channel.channel),
  );
  return OUTSIDE[where][evident ? 'evident' : 'alone'];
}

function sourceWords(source: Source, picture: Picture): StateWords {
  const supply = picture.supplies.find((one) => one.source === source.id);
  if (supply?.filling) return FILLING;
  if (supply?.volumeM3 == null) return UNKNOWN;
  const low = picture.alarms.some(
    ({ verdict, clearedMs }) => clearedMs === null && verdict.cause === 'tank-low' && verdict.subject === source.id,
  );
  return low ? LOW_WATER : KNOWN_LEVEL;
}

function placeWords(place: string, picture: Picture, layout: Layout): StateWords {
  const hose = layout.hoses.find((one) => one.from === place || one.to === place);
  return hose ? conditionOf({ kind: 'hose', item: hose }, picture, layout) : UNKNOWN;
}

/** Alarms that are about this thing or name it as a candidate, with its share. */
export function alarmsAbout(
  id: string,
  picture: Picture | null,
): { readonly alarm: Alarm; readonly share: number | null }[] {
  return (picture?.alarms ?? []).flatMap((alarm): { alarm: Alarm; share: number | null }[] => {
    const place = alarm.verdict.places.find((one) => one.id === id);
    return place ? [{ alarm, share: place.probability }] : alarm.verdict.subject === id ? [{ alarm, share: null }] : [];
  });
}
