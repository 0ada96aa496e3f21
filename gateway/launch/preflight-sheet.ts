/**
 * The pre-flight of a lay as a sheet for a terminal of 80 columns, or for paper: what would work, the worst first.
 *
 * In: a layout. Out: lines of text in the site's own units, at most 78 wide unless a single name is longer. Figures are
 * those of hydraulics/preflight.ts and remedy.ts; here they only get their words and their order.
 * Limit: a remedy is found for its own head; what it does to the others is counted for the throttle only.
 */
import type { Head, Layout, UnitSystem } from '../../config/layout/layout.ts';
import { ADVISORY_LINE } from '../../config/safety.ts';
import { show } from '../../config/units.ts';
import type { Shown } from '../../config/units.ts';
import { gaugeLimits } from '../core/diagnosis/sensors/gauge-limits.ts';
import { buildNetwork } from '../core/hydraulics/network.ts';
import type { Network } from '../core/hydraulics/network.ts';
import { standingOf, WATER_C, type HeadStanding } from '../core/hydraulics/limits.ts';
import { preflight } from '../core/hydraulics/preflight.ts';
import type { HeadCheck, Preflight } from '../core/hydraulics/preflight.ts';
import { remediesFor } from '../core/hydraulics/remedy.ts';
import { drainsBackM3 } from '../core/hydraulics/lay-volume.ts';
import type { Remedy } from '../core/hydraulics/remedy.ts';
import { asRigged } from '../core/hydraulics/settings.ts';
import { solveRigged } from '../core/hydraulics/governor.ts';

const WIDTH = 78;
/** As well as kit figures are known: nearer than this to a limit, a head may be past it. */
const CLOSE = 0.1;
const MMPH_MPS = 1e-3 / 3600;
const INPH_MPS = 0.0254 / 3600;

const WORST_FIRST: readonly HeadStanding[] = ['breaks', 'no-water', 'too-weak', 'too-strong', 'turns'];
const STANDING: Readonly<Record<HeadStanding, string>> = {
  breaks: 'may break',
  'no-water': 'no water',
  'too-weak': 'too weak',
  'too-strong': 'too strong',
  turns: 'turns',
};
const SUCTION = { ample: 'ample', near: 'near its limit', cavitates: 'not enough, it would cavitate' } as const;
const CAUTION = `${ADVISORY_LINE} A calculation for a lay that is rigged as the layout says, full, at rated speed and without fault. Kit figures are good to 5-10 %, and nothing here is more accurate. Incident command, local codes and the fire service come first.`;

interface Judged {
  readonly head: Head;
  readonly check: HeadCheck;
  /** Room to the nearer end of the range in which it turns, relative to that end; negative outside. */
  readonly room: number;
}

export function preflightSheet(layout: Layout): string[] {
  const found = preflight(layout, WATER_C);
  const title = [
    ...wrapped(`Pre-flight of ${layout.name}, revision ${layout.revision} (layout ${layout.fingerprint})`),
    '='.repeat(WIDTH),
  ];
  if (found.fault !== null) {
    const unknown = `No steady state was found for this layout: ${found.fault.words}. Nothing is known of pressures, pump or lines.`;
    return [
      ...title,
      ...wrapped(unknown),
      '',
      `Verdict: unknown; check the layout around ${found.fault.element}.`,
      '',
      ...wrapped(CAUTION),
    ];
  }
  const heads = judgedHeads(layout, found);
  return [
    ...title,
    ...headSection(layout, heads),
    ...pumpSection(layout, found),
    ...waterSection(layout, found),
    ...lineSection(layout, found),
    ...gateSection(layout, found),
    ...gaugeSection(layout),
    '',
    verdict(found, heads),
    '',
    ...wrapped(CAUTION),
  ];
}

function judgedHeads(layout: Layout, found: Preflight): Judged[] {
  const judged = found.heads.map((check, i): Judged => {
    const head = layout.heads[i]!;
    const { turnPaMin, turnPaMax } = head.kit;
    return { head, check, room: Math.min(check.pressurePa / turnPaMin - 1, 1 - check.pressurePa / turnPaMax) };
  });
  return judged.toSorted((a, b) => rank(a.check.standing) - rank(b.check.standing) || a.room - b.room);
}

function rank(standing: HeadStanding): number {
  return WORST_FIRST.indexOf(standing);
}

function isClose({ check, room }: Judged): boolean {
  return check.standing === 'turns' && room < CLOSE;
}

function headSection(layout: Layout, heads: readonly Judged[]): string[] {
  const { units } = layout;
  const inches = units !== 'metric';
  const rows = heads.map((judged) => {
    const { head, check } = judged;
    const { turnPaMin, turnPaMax, survivesPa } = head.kit;
    const rate = inches ? (check.rateMps / INPH_MPS).toFixed(2) : (check.rateMps / MMPH_MPS).toFixed(1);
    return [
      named(head),
      bare(check.pressurePa, 'pressure', units),
      `${bare(turnPaMin, 'pressure', units)}-${bare(turnPaMax, 'pressure', units)}`,
      bare(survivesPa, 'pressure', units),
      bare(check.flowM3s, 'flow', units),
      rate,
      isClose(judged) ? 'turns, close' : STANDING[check.standing],
    ];
  });
  const psi = show(0, 'pressure', units).unit;
  const header = ['', psi, 'turns at', 'bears', show(0, 'flow', units).unit, inches ? 'in/h' : 'mm/h', 'as rigged'];
  const weak = heads.filter(({ check }) => check.standing !== 'turns');
  const network = buildNetwork(layout);
  const remedies = weak.flatMap(({ head, check }) => {
    const [cheapest] = remediesFor(network, asRigged(network), head.id);
    return [
      ...wrapped(`${named(head)}: ${trouble(head, check, units)}`, '  '),
      ...wrapped(remedyWords(network, check.standing, cheapest), '      '),
    ];
  });
  return [
    ...heading('Heads'),
    ...remedies,
    ...(weak.length === 0 ? ['Every head is within the range in which it turns.'] : []),
    '',
    ...table([23, 6, 10, 7, 8, 6, 15], header, rows),
    '',
    ...wrapped(
      `'Close': within ${CLOSE * 100} % of an end of its range, which is no more than the kit is known to. ${inches ? 'in/h' : 'mm/h'} is the mean over the arc at the kit's throw; the rim and the ground next to the head get less. Wind is not modelled: it moves and thins the pattern.`,
    ),
  ];
}

function trouble(head: Head, check: HeadCheck, units: UnitSystem): string {
  const { turnPaMin, turnPaMax, survivesPa } = head.kit;
  const pressure = full(check.pressurePa, 'pressure', units);
  switch (check.standing) {
    case 'no-water':
      return 'no water reaches it.';
    case 'too-weak':
      return `${pressure} is too weak to turn it, which takes ${full(turnPaMin, 'pressure', units)}.`;
    case 'breaks':
      return `${pressure} may break it or throw it off; it bears ${full(survivesPa, 'pressure', units)}.`;
    default:
      return `${pressure} is above the ${full(turnPaMax, 'pressure', units)} up to which it turns as it should.`;
  }
}

function remedyWords(network: Network, standing: HeadStanding, remedy: Remedy | undefined): string {
  if (standing === 'no-water') return 'Look for a shut gate or a pump too low for this height. No remedy was tried.';
  if (remedy === undefined) return 'None of the single changes tried is enough.';
  const { layout } = network;
  const subject = [...layout.pumps, ...layout.heads, ...layout.hoses].find(({ id }) => id === remedy.subject);
  const name = subject ? named(subject) : remedy.subject;
  const change = {
    'held-pressure': `let ${name} hold ${full(remedy.holdsPa ?? 0, 'pressure', layout.units)}`,
    throttle: `set the throttle of ${name} to ${Math.round((remedy.speed ?? 1) * 100)} % of rated speed`,
    'one-head-fewer': `take head ${name} off the line and close its feeder`,
    'shorter-hose': `lay hose ${name} at half its length`,
    'larger-hose': `lay hose ${name} one size larger`,
  }[remedy.change];
  return `Cheapest remedy found: ${change}. It would then have ${full(remedy.pressurePa, 'pressure', layout.units)}; ${othersThen(network, remedy)}.`;
}

/** One hand on the throttle moves every head, so the cure of one may be the fault of another. */
function othersThen(network: Network, remedy: Remedy): string {
  const { pumps, heads } = network.layout;
  if (remedy.speed === null) return 'check the changed layout again for the others';
  const settings = asRigged(network);
  settings.pumpSpeed[pumps.findIndex(({ id }) => id === remedy.subject)] = remedy.speed;
  const { pressurePa } = solveRigged(network, settings).solution;
  const wrong = heads.filter(
    (head) => standingOf(head, pressurePa[network.nodeOfHead.get(head.id)!]!) !== 'turns',
  ).length;
  return wrong === 0
    ? 'every head would then be in range'
    : `${wrong} of ${heads.length} heads would then be out of range`;
}

function pumpSection(layout: Layout, found: Preflight): string[] {
  const { units } = layout;
  const worstFirst = layout.pumps
    .map((pump, i) => ({ pump, check: found.pumps[i]! }))
    .toSorted(
      (a, b) => a.check.npshAvailableM / a.pump.kit.npshRequiredM - b.check.npshAvailableM / b.pump.kit.npshRequiredM,
    );
  const facts = worstFirst.flatMap(({ pump, check }) => [
    ...wrapped(
      `${named(pump)}: ${full(check.flowM3s, 'flow', units)} at ${full(check.dischargePa, 'pressure', units)}, suction ${full(check.suctionPa, 'pressure', units)}.`,
      '  ',
    ),
    ...wrapped(
      `Suction head (NPSH): ${SUCTION[check.suction]}. ${full(check.npshAvailableM, 'length', units)} there, ${full(pump.kit.npshRequiredM, 'length', units)} needed, water at ${full(WATER_C, 'temperature', units)}.`,
      '      ',
      '  ',
    ),
    ...(pump.holdsPa === null
      ? []
      : wrapped(
          `Governor: ${check.shortOfHold ? 'cannot hold' : 'holds'} ${full(pump.holdsPa, 'pressure', units)}, at ${Math.round(check.speed * 100)} % of rated speed.`,
          '      ',
          '  ',
        )),
    ...(check.reliefM3s === null
      ? []
      : wrapped(`Relief valve: lets out ${full(check.reliefM3s, 'flow', units)}.`, '      ', '  ')),
    ...(pump.checkValve
      ? []
      : wrapped(
          `No check valve: when it stops, up to ${full(drainsBackM3(layout, pump), 'volume', units)} of the lay drains back through it.`,
          '      ',
          '  ',
        )),
    ...wrapped(`Fuel: a full tank lasts ${(check.fuelLastsS / 3600).toFixed(1)} h.`, '      ', '  '),
  ]);
  return [...heading('Pump and fuel'), ...facts];
}

function waterSection(layout: Layout, found: Preflight): string[] {
  const worstFirst = layout.sources
    .map((source, i) => ({ source, check: found.sources[i]! }))
    .toSorted((a, b) => (a.check.lastsS ?? Number.MAX_VALUE) - (b.check.lastsS ?? Number.MAX_VALUE));
  const facts = worstFirst.flatMap(({ source, check }) => {
    if (source.mains !== null)
      return wrapped(
        `${named(source)}: taken at the one flow test in the layout, ${full(source.mains.residualPa, 'pressure', layout.units)} left at ${full(source.mains.residualFlowM3s, 'flow', layout.units)}. Others who draw on the same main lower it.`,
        '  ',
      );
    if (check.usableM3 === null)
      return wrapped(
        `${named(source)}: open water, taken as endless. Whether it stays so is for people to watch.`,
        '  ',
      );
    const usable = `${full(check.usableM3, 'volume', layout.units)} within reach of the suction when full`;
    const lasts =
      check.lastsS === null
        ? 'nothing is drawn from it'
        : `${Math.floor(check.lastsS / 60)} min with all running and nothing coming in`;
    return wrapped(`${named(source)}: ${lasts} (${usable}).`, '  ');
  });
  return [...heading('Water'), ...facts];
}

function lineSection(layout: Layout, found: Preflight): string[] {
  const { units } = layout;
  const rows = layout.lines
    .map((line, i) => ({ line, check: found.lines[i]! }))
    .toSorted((a, b) => a.check.safeFillShare - b.check.safeFillShare)
    .map(({ line, check }) => {
      const slowly = check.safeFillShare * check.flowM3s;
      return [
        line.label,
        bare(check.flowM3s, 'flow', units),
        bare(check.shockPeakPa, 'pressure', units),
        seconds(check.fillS),
        `${Math.floor(check.safeFillShare * 100)} %`,
        seconds(slowly > 0 ? check.volumeM3 / slowly : null),
      ];
    });
  const header = ['', show(0, 'flow', units).unit, `${show(0, 'pressure', units).unit}*`, 'fills in', 'safe', 'slowly'];
  return [
    ...heading('Lines'),
    ...table([32, 8, 7, 9, 7, 8], header, rows),
    '',
    ...wrapped(
      `* Highest pressure if the line's full flow were stopped dead. 'Fills in': the line alone, at the pump's full flow. 'Safe': share of the line's running flow at which it can be filled without harm to a hose or a light head, and 'slowly' the time that then takes. The whole lay holds ${full(found.layVolumeM3, 'volume', units)} and takes ${seconds(found.layFillS)} at full flow.`,
    ),
  ];
}

function gateSection(layout: Layout, found: Preflight): string[] {
  if (layout.gates.length === 0) return [];
  const { units } = layout;
  const headById = new Map(layout.heads.map((head) => [head.id, head]));
  const rows = layout.gates
    .map((gate, i) => {
      const check = found.gates[i]!;
      const head = headById.get(check.worstHead ?? '');
      return { gate, check, head, strain: head ? check.pressurePa / head.kit.survivesPa : -1 };
    })
    .toSorted((a, b) => rank(a.check.standing) - rank(b.check.standing) || b.strain - a.strain)
    .map(({ gate, check, head }) => {
      const shut = gate.opening === 0 ? `${named(gate)} (is shut)` : named(gate);
      if (!check.converged) return [shut, '—', 'unknown', 'no answer from the model'];
      return head
        ? [shut, bare(check.pressurePa, 'pressure', units), STANDING[check.standing], named(head)]
        : [shut, '—', 'no water', 'no head has water'];
    });
  return [
    ...heading('If one gate is shut'),
    ...table([24, 8, 12, -28], ['', show(0, 'pressure', units).unit, 'then', 'at head'], rows),
    '',
    ...wrapped('Of the heads that still have water, the one nearest to the pressure that it bears.'),
  ];
}

function verdict(found: Preflight, heads: readonly Judged[]): string {
  const wrong = heads.filter(({ check }) => check.standing !== 'turns').length;
  const first =
    wrong > 0
      ? `${wrong} of ${heads.length} heads out of range`
      : `${heads.length} of ${heads.length} heads in range, ${heads.filter(isClose).length} close`;
  const suctions = found.pumps.map(({ suction }) => suction);
  const suction = suctions.includes('cavitates') ? 'not enough' : suctions.includes('near') ? 'near limit' : 'ample';
  const shortestS = Math.min(...found.sources.map(({ lastsS }) => lastsS ?? Infinity));
  return `Verdict: ${first}; suction ${suction}${shortestS < Infinity ? `; water ${Math.floor(shortestS / 60)} min` : ''}.`;
}

function named({ id, label }: { readonly id: string; readonly label: string }): string {
  return label === id ? id : `${id} ${label}`;
}

function bare(value: number, what: Shown, units: UnitSystem): string {
  return show(value, what, units).text;
}

function full(value: number, what: Shown, units: UnitSystem): string {
  const { text, unit } = show(value, what, units);
  return `${text} ${unit}`;
}

function seconds(value: number | null): string {
  return value === null ? '—' : `${Math.ceil(value)} s`;
}

function gaugeSection(layout: Layout): string[] {
  const limits = gaugeLimits(layout);
  return [
    ...heading('Gauges'),
    ...(limits.length === 0
      ? wrapped('Flow, speed and discharge pressure at every pump and pressure at line ends, every second or two.')
      : limits.flatMap((words) => wrapped(words, '  '))),
  ];
}

function heading(words: string): string[] {
  return ['', words, '-'.repeat(words.length)];
}

/**
 * First column to the left, others to the right; a negative width: two blanks, then to the left. A name too long for
 * its column has a line of its own.
 */
function table(widths: readonly number[], header: readonly string[], rows: readonly (readonly string[])[]): string[] {
  const cell = (text: string, i: number): string => {
    const width = widths[i] ?? 0;
    if (width < 0) return `  ${text}`;
    return i === 0 ? text.padEnd(width) : text.padStart(width);
  };
  return [header, ...rows].flatMap((row) => {
    const [name = '', ...rest] = row;
    const long = name.length > (widths[0] ?? 0);
    const line = [long ? '' : name, ...rest].map(cell).join('').trimEnd();
    return long ? [...wrapped(name), line] : [line];
  });
}

function wrapped(words: string, hanging = '', first = ''): string[] {
  const lines: string[] = [];
  let line = first;
  for (const word of words.split(/\s+/)) {
    const longer = line.trim() === '' ? line + word : `${line} ${word}`;
    if (longer.length > WIDTH && line.trim() !== '') {
      lines.push(line);
      line = hanging + word;
    } else line = longer;
  }
  return [...lines, line];
}
