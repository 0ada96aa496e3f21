/**
 * Puts a finding into the words a crew uses: headline, cheapest check, what to carry, one sentence for the radio.
 *
 * In: finding, layout, what stands around it. Out: Verdict. Units and local time follow the layout. Words never order
 * anyone to go and never say that a place is safe. A hazard to people says 'stay away' first, and while it stands every
 * other trouble at that pump says so in place of its check. Carry lists are common practice, no source.
 */
import { CAUSES, type Cause } from '../../../config/causes/causes.ts';
import { aboutWords, durationWords, rangeWords } from '../../../config/durations.ts';
import type { Layout } from '../../../config/layout/layout.ts';
import {
  DEADHEAD_WARNING,
  exercised,
  FUEL_LINE,
  IF_COMMAND_AGREES,
  SENDING_LINE,
  STAY_AWAY,
} from '../../../config/safety.ts';
import { show } from '../../../config/units.ts';
import type { Verdict } from '../../../config/wire/wire.ts';
import type { Finding } from '../diagnosis/isolation/finding.ts';

/** The check of a cause with its own sentence of safety. */
export function checkOf(cause: Cause): string {
  const { check, safety } = CAUSES[cause];
  return safety === 'stay-away' ? `${DEADHEAD_WARNING} ${check}` : safety === 'fuel' ? `${check} ${FUEL_LINE}` : check;
}

/** What stands around a finding while it is put into words. */
export interface Around {
  readonly simulated: boolean;
  /** Pumps that are a hazard to people. */
  readonly hazards: ReadonlySet<string>;
}

const NOTHING_AROUND: Around = { simulated: false, hazards: new Set() };

export function verdictOf(finding: Finding, layout: Layout, around: Around = NOTHING_AROUND): Verdict {
  const subject = subjectName(finding, layout);
  const place = placesName(finding, layout);
  const where = place ? `, ${place}` : '';
  const isHazard = CAUSES[finding.cause].hazard;
  const what = finding.facts.fuelOut ? 'pump stopped, fuel gauge at empty' : CAUSES[finding.cause].name;
  const loss = lossWords(finding, layout);
  // A time left has brackets of its own.
  const told = loss === '' ? '' : finding.facts.leftS ? `, ${loss}` : ` (${loss})`;
  const headline = `${subject}: ${what}${where}${told}${isHazard ? '. STAY AWAY' : ''}`;
  const nearby = isHazard ? 'not' : nearHazard(finding, layout, around.hazards);
  const warning = isHazard ? ` ${DEADHEAD_WARNING}` : nearby === 'not' ? '' : ` ${STAY_AWAY}`;
  const evidence = isHazard ? '' : evidenceWords(finding, layout);
  const lost = loss ? `. ${loss[0]!.toUpperCase()}${loss.slice(1)}` : '';
  const since = localTime(finding.sinceMs, layout.timeZone);
  const spoken = `${layout.name}, ${subject}: ${what}${where}, since ${since}${evidence}${lost}.${warning}`;
  return {
    id: finding.key,
    cause: finding.cause,
    subject: finding.subject,
    subjectKind: finding.subjectKind,
    places: finding.places,
    sinceMs: finding.sinceMs,
    probability: finding.probability,
    sizeM3s: finding.sizeM3s,
    evidence: finding.evidence,
    alternatives: finding.rivals.map((rival) => ({
      words: `${CAUSES[rival.cause].name}, ${placeName(rival.place, layout)}`,
      probability: rival.probability,
    })),
    headline,
    check:
      nearby === 'at it'
        ? STAY_AWAY
        : nearby === 'on its lay'
          ? `${STAY_AWAY} ${checkOf(finding.cause)}`
          : checkOf(finding.cause),
    warning: isHazard ? DEADHEAD_WARNING : nearby === 'not' ? null : STAY_AWAY,
    caution: isHazard || nearby === 'at it' ? null : SENDING_LINE,
    ask: nearby === 'not' && !isHazard ? askWords(finding, layout) : null,
    carry: nearby === 'at it' ? [] : CAUSES[finding.cause].carry,
    radio: exercised(spoken, around.simulated),
  };
}

/**
 * Where a finding would send people, seen from a pump that is a hazard to them: at the pump, its suction, its tank, its
 * sensors or the trunk that its couplings join; or elsewhere on a lay of its site. With a doubt, at it.
 */
function nearHazard(
  { subject, subjectKind, places }: Finding,
  layout: Layout,
  hazards: ReadonlySet<string>,
): 'at it' | 'on its lay' | 'not' {
  if (hazards.size === 0) return 'not';
  if (subjectKind === 'site' || subjectKind === 'trunk') return 'at it';
  const near = layout.pumps.filter(({ id }) => hazards.has(id)).flatMap(({ id, source }) => [id, source]);
  const sensors = layout.sensors.filter(({ id }) => id === subject || places.some((place) => place.id === id));
  const isNear =
    near.includes(subject) ||
    sensors.some(
      ({ mounting }) =>
        ('pump' in mounting && near.includes(mounting.pump)) ||
        (mounting.kind === 'source' && near.includes(mounting.source)) ||
        (mounting.kind === 'place' &&
          layout.pumps.some(({ id, outlet }) => hazards.has(id) && outlet === mounting.place)),
    );
  return isNear ? 'at it' : 'on its lay';
}

function subjectName(finding: Finding, layout: Layout): string {
  if (finding.subjectKind === 'trunk') return 'Trunk';
  if (finding.subjectKind === 'site') return 'Whole site';
  return placeName(finding.subject, layout);
}

function askWords({ question }: Finding, layout: Layout): string | null {
  if (!question) return null;
  const at = question.at.map((id) => placeName(id, layout));
  const tells = tellsWords(question.bits / question.openBits);
  switch (question.kind) {
    case 'gate':
      return `${IF_COMMAND_AGREES}: ${at[0]} shut for half a minute and logged here, then opened slowly. ${tells}`;
    case 'throttle':
      return (
        `${IF_COMMAND_AGREES}: throttle down until discharge pressure has fallen by a fifth, half a ` +
        `minute, then back slowly. ${tells}`
      );
    case 'gauge':
      return `A hand gauge on the line at ${at[0]}. ${tells}`;
    case 'look':
      return `A look at ${at.join(', ')}, from a distance. ${tells}`;
  }
}

/** The figure is a share of what is open, not of the explanations. */
function tellsWords(share: number): string {
  if (share > 0.75) return 'Should separate nearly all of the explanations.';
  return share > 0.4 ? 'Should separate most of the explanations.' : 'Should separate some of the explanations.';
}

/** What people call a thing of the layout. */
export function placeName(id: string, layout: Layout): string {
  if (id === 'trunk') return 'trunk';
  const lists: readonly (readonly { id: string; label: string }[])[] = [
    layout.lines,
    layout.heads,
    layout.hoses,
    layout.gates,
    layout.pumps,
    layout.sources,
    layout.sensors,
    layout.structures,
    layout.places,
  ];
  for (const list of lists) {
    const found = list.find((item) => item.id === id);
    if (found) return found.label;
  }
  return id;
}

function placesName(finding: Finding, layout: Layout): string {
  if (!['line', 'trunk'].includes(finding.subjectKind) || finding.places.length === 0) return '';
  const names = finding.places.map(({ id }) => placeName(id, layout));
  if (names.length === 1) return `at ${names[0]}`;
  if (names.length <= 3) return `at ${names.slice(0, -1).join(', ')} or ${names.at(-1)}`;
  return `at ${names[0]}, ${names[1]} or one of ${names.length - 2} more`;
}

function lossWords(finding: Finding, layout: Layout): string {
  const { leftS, share, silentS, topPa } = finding.facts;
  if (topPa !== undefined)
    return `up to ${show(topPa, 'pressure', layout.units).text} ${show(topPa, 'pressure', layout.units).unit}`;
  if (leftS)
    return `${aboutWords(leftS.best)} left (${rangeWords(leftS)})${finding.facts.filling ? ', being filled' : ''}`;
  if (share !== undefined) return `down ${Math.round(share * 100)} %`;
  if (silentS !== undefined) return silentS === null ? 'never heard' : `silent for ${durationWords(silentS)}`;
  if (finding.sizeM3s === null) return '';
  const { text, unit } = show(Math.abs(finding.sizeM3s.best), 'flow', layout.units);
  return `${finding.sizeM3s.best > 0 ? 'about' : 'loses'} ${text} ${unit}`;
}

/** A reading of the thing itself, or what flows at the pump: the end of another line would be looked for in vain. */
function evidenceWords(finding: Finding, layout: Layout): string {
  const shown = finding.evidence
    .map((one) => ({ one, sensor: layout.sensors.find((candidate) => candidate.id === one.channel) }))
    .find(({ sensor }) => sensor && isOwnReading(sensor, finding));
  if (!shown?.sensor) return '';
  const { one, sensor } = shown;
  const quantity = sensor.quantity === 'flow' ? 'flow' : 'pressure';
  const measured = show(one.measured, quantity, layout.units);
  const expected = show(one.expected, quantity, layout.units);
  return (
    `. ${sensor.label[0]!.toUpperCase()}${sensor.label.slice(1)} ${measured.text} ${measured.unit}, ` +
    `expected ${expected.text}`
  );
}

function isOwnReading(sensor: Layout['sensors'][number], { subject, subjectKind }: Finding): boolean {
  const { quantity, mounting } = sensor;
  if (quantity !== 'pressure' && quantity !== 'flow') return false;
  switch (subjectKind) {
    case 'line':
      return sensor.line === subject || quantity === 'flow';
    case 'pump':
      return 'pump' in mounting && mounting.pump === subject;
    case 'channel':
      return sensor.id === subject;
    default:
      return true;
  }
}

/** 24 h local time, `14:07`. */
/** Making one costs more than a frame's arithmetic. */
const clocks = new Map<string, Intl.DateTimeFormat>();

export function localTime(atMs: number, timeZone: string): string {
  let clock = clocks.get(timeZone);
  if (!clock) {
    clock = new Intl.DateTimeFormat('en-GB', { hour: '2-digit', minute: '2-digit', hour12: false, timeZone });
    clocks.set(timeZone, clock);
  }
  return clock.format(atMs);
}
