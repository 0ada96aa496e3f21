/**
 * Puts a finding into the words a crew uses: headline, cheapest check, what to carry, one sentence for the radio.
 *
 * In: finding, layout, names of places. Out: Verdict. Units and local time follow the layout. Words never order anyone
 * to go and never say that a place is safe; hazards to people say 'stay away' first. Carry lists are common practice,
 * no source.
 */
import type { Layout } from '../../config/layout.ts';
import { CAUSE_NAMES } from '../../config/modes.ts';
import { show } from '../../config/units.ts';
import type { Cause, Estimate, Verdict } from '../../config/wire.ts';
import type { Finding } from '../diagnosis/finding.ts';

const CHECKS: Record<Cause, string> = {
  'head-off':
    'Look along the line for a solid jet and for heads that droop. From the readings an opened head and a leak at the same point look alike.',
  'head-stalled':
    'Watch each impact head of the line make one full turn. Flow and pressure do not change when one stalls: only its beat went missing.',
  leak: 'Look for mud, spray at couplings and a slack hose. From the readings a leak and an opened head at the same point look alike.',
  plug: 'Look for a short or missing stream. A plugged nozzle and a pinched feeder look alike from the readings.',
  restriction: 'Walk the hose for a kink, a wheel on it or a half-shut gate.',
  'gate-shut': 'Look whether that gate is open, and ask who moved it.',
  'hose-burst': 'Look for the open end from a distance before walking up: a loose hose under pressure whips.',
  'pump-fade':
    'Listen to the engine; look at throttle lock, air filter, plug and fuel. If the throttle was moved by hand, log it.',
  'pump-stop': 'Ask whoever is nearest whether it was stopped by hand; fuel, then suction, then engine.',
  'dead-head':
    'Stay away from the pump end and let it cool. Do not touch couplings: the water inside can scald. Ask by radio which gates are shut.',
  'suction-trouble': 'Look at the water over the strainer, the strainer itself and the suction couplings.',
  'tank-low': 'Dip the tank and compare. Ask the tender for its time.',
  'tank-leak':
    'Look under the tank and at its outlet and drain. A flow meter that has begun to read low looks the same; so does a second draw that nobody told the gateway of.',
  'tank-overfull':
    'Ask whoever fills it to stop: water over the rim washes out the ground that a framed tank stands on.',
  'fuel-low': "Look at the can. The figure is the kit's usual use, not a measurement of this engine.",
  shock:
    'Look whether each of the light heads still stands, sprays and turns; a tick on the walk-round settles it. The shock itself is over: start and shut slowly.',
  'sensor-silent': 'Radio for a look at the gauge there. No data is not good news.',
  'sensor-stuck': 'Compare with a hand gauge; look for ice or silt in the stub.',
  'sensor-drift': 'Compare with a hand gauge at the same coupling.',
  'sensor-swapped': 'Look which node hangs at which line end: two of them may be named or hung the wrong way round.',
  unexplained:
    'Read the gauges by hand and walk the line when that is cleared: the readings have moved together in a way that no single cause here explains.',
};

const CARRY: Partial<Record<Cause, readonly string[]>> = {
  'head-off': ['spare heads of that size', 'adapters and washers', 'end cap', 'wire or strap', 'hose clamp'],
  'head-stalled': ['pin or wire', 'spare heads of that size', 'level', 'spikes'],
  leak: ['gaskets of all sizes', 'spanners', 'hose clamp'],
  plug: ['pin or wire', 'spare nozzles', 'in-line strainer'],
  restriction: ['hose bridge', 'elbows'],
  'hose-burst': ['spare hose', 'double male and double female', 'hose clamp', 'gaskets'],
  'pump-fade': ['plugs and wrench', 'air filter', 'fuel'],
  'pump-stop': ['fuel and funnel', 'plugs and wrench', 'prime bucket'],
  'suction-trouble': ['gaskets', 'strainer and screen', 'prime bucket'],
  'tank-leak': ['liner patch and tape', 'outlet gasket', 'end cap'],
  'fuel-low': ['mixed fuel', 'funnel', 'extinguisher'],
  shock: ['spare heads of that size', 'adapters and washers', 'wire or strap'],
  'sensor-silent': ['node battery', 'hand gauge'],
  'sensor-stuck': ['hand gauge', 'spare sensor', 'thread tape'],
  'sensor-drift': ['hand gauge', 'spare sensor', 'thread tape'],
};

export function verdictOf(finding: Finding, layout: Layout): Verdict {
  const subject = subjectName(finding, layout);
  const where = placesName(finding, layout);
  const what = finding.facts.fuelOut ? 'pump stopped, fuel gauge at empty' : CAUSE_NAMES[finding.cause];
  const loss = lossWords(finding, layout);
  const headline = `${subject}: ${what}${where ? `, ${where}` : ''}${loss ? ` (${loss})` : ''}`;
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
      words: `${CAUSE_NAMES[rival.cause]}, ${placeName(rival.place, layout)}`,
      probability: rival.probability,
    })),
    headline,
    check: CHECKS[finding.cause],
    ask: askWords(finding, layout),
    carry: CARRY[finding.cause] ?? [],
    radio: `${layout.name}, ${subject}: ${what}${where ? `, ${where}` : ''}, since ${localTime(finding.sinceMs, layout.timeZone)}${
      finding.cause === 'dead-head' ? '. Stay away from the pump, let it cool' : evidenceWords(finding, layout)
    }${loss ? `. ${loss[0]!.toUpperCase()}${loss.slice(1)}` : ''}.`,
  };
}

function subjectName(finding: Finding, layout: Layout): string {
  if (finding.subjectKind === 'trunk') return 'Trunk';
  if (finding.subjectKind === 'site') return 'Whole site';
  return placeName(finding.subject, layout);
}

function askWords({ question }: Finding, layout: Layout): string | null {
  if (!question) return null;
  const at = question.at.map((id) => placeName(id, layout));
  const tells = `That would settle about ${Math.min(95, Math.max(5, Math.round((100 * question.bits) / question.openBits / 5) * 5))} % of what is open.`;
  switch (question.kind) {
    case 'gate':
      return `If incident command agrees: ${at[0]} shut for half a minute and logged here, then opened slowly. ${tells}`;
    case 'throttle':
      return `Throttle down until discharge pressure has fallen by a fifth, half a minute, then back. ${tells}`;
    case 'gauge':
      return `A hand gauge on the line at ${at[0]}. ${tells}`;
    case 'look':
      return `A look at ${at.join(', ')}, from a distance first. ${tells}`;
  }
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
  if (leftS) return `about ${durationWords(leftS)} left`;
  if (share !== undefined) return `down ${Math.round(share * 100)} %`;
  if (silentS !== undefined) return silentS === null ? 'never heard' : `silent for ${Math.round(silentS)} s`;
  if (finding.sizeM3s === null) return '';
  const { text, unit } = show(Math.abs(finding.sizeM3s.best), 'flow', layout.units);
  return `${finding.sizeM3s.best > 0 ? 'about' : 'loses'} ${text} ${unit}`;
}

function durationWords(left: Estimate): string {
  // As the screen says it: time left is never rounded up.
  const minutes = (seconds: number): number => Math.floor(seconds / 60);
  return `${minutes(left.best)} min (${minutes(left.low)} to ${minutes(left.high)})`;
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
  return `. ${sensor.label[0]!.toUpperCase()}${sensor.label.slice(1)} ${measured.text} ${measured.unit}, expected ${expected.text}`;
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
