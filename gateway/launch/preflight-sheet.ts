/**
 * The pre-flight of a lay as a sheet for a terminal of 80 columns, or for paper: what would work, the worst first.
 *
 * In: a layout. Out: lines of text in the site's own units, at most 78 wide unless a single name is longer. Figures are
 * those of hydraulics/preflight.ts and remedy.ts; here they only get their words and their order.
 */
import { leftWords } from '../../config/durations.ts';
import type { Layout } from '../../config/layout/layout.ts';
import { ADVISORY_LINE } from '../../config/safety.ts';
import { show } from '../../config/units.ts';
import { gaugeLimits } from '../core/diagnosis/sensors/gauge-limits.ts';
import { drainsBackM3 } from '../core/hydraulics/lay-volume.ts';
import { WATER_C } from '../core/hydraulics/limits.ts';
import { preflight } from '../core/hydraulics/preflight.ts';
import type { Preflight } from '../core/hydraulics/preflight.ts';
import { headSection, isClose, judgedHeads, rank, STANDING, type Judged } from './preflight-heads.ts';
import { bare, full, heading, named, seconds, table, WIDTH, wrapped } from './sheet-text.ts';

const SUCTION = { ample: 'ample', near: 'near its limit', cavitates: 'not enough, it would cavitate' } as const;
const CAUTION =
  `${ADVISORY_LINE} A calculation for a lay that is rigged as the layout says, full, at rated speed and ` +
  'without fault. Kit figures are good to 5-10 %, and nothing here is more accurate. Incident command, ' +
  'local codes and the fire service come first.';

export function preflightSheet(layout: Layout): string[] {
  const found = preflight(layout, WATER_C);
  const title = [
    ...wrapped(`Pre-flight of ${layout.name}, revision ${layout.revision} (layout ${layout.fingerprint})`),
    '='.repeat(WIDTH),
  ];
  if (found.fault !== null) {
    const unknown =
      `No steady state was found for this layout: ${found.fault.words}. Nothing is known of pressures, ` +
      'pump or lines.';
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

function pumpSection(layout: Layout, found: Preflight): string[] {
  const { units } = layout;
  const worstFirst = layout.pumps
    .map((pump, i) => ({ pump, check: found.pumps[i]! }))
    .toSorted(
      (a, b) => a.check.npshAvailableM / a.pump.kit.npshRequiredM - b.check.npshAvailableM / b.pump.kit.npshRequiredM,
    );
  const facts = worstFirst.flatMap(({ pump, check }) => [
    ...wrapped(
      `${named(pump)}: ${full(check.flowM3s, 'flow', units)} at ` +
        `${full(check.dischargePa, 'pressure', units)}, suction ` +
        `${full(check.suctionPa, 'pressure', units)}.`,
      '  ',
    ),
    ...wrapped(
      `Suction head (NPSH): ${SUCTION[check.suction]}. ${full(check.npshAvailableM, 'length', units)} ` +
        `there, ${full(pump.kit.npshRequiredM, 'length', units)} needed, water at ` +
        `${full(WATER_C, 'temperature', units)}.`,
      '      ',
      '  ',
    ),
    ...(pump.holdsPa === null
      ? []
      : wrapped(
          `Governor: ${check.shortOfHold ? 'cannot hold' : 'holds'} ` +
            `${full(pump.holdsPa, 'pressure', units)}, at ${Math.round(check.speed * 100)} % of rated ` +
            'speed.',
          '      ',
          '  ',
        )),
    ...(check.reliefM3s === null
      ? []
      : wrapped(`Relief valve: lets out ${full(check.reliefM3s, 'flow', units)}.`, '      ', '  ')),
    ...(pump.checkValve
      ? []
      : wrapped(
          `No check valve: when it stops, up to ${full(drainsBackM3(layout, pump), 'volume', units)} ` +
            'of the lay drains back through it.',
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
        `${named(source)}: taken at the one flow test in the layout, ` +
          `${full(source.mains.residualPa, 'pressure', layout.units)} left at ` +
          `${full(source.mains.residualFlowM3s, 'flow', layout.units)}. Others who draw on the same main ` +
          'lower it.',
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
        : `${leftWords(check.lastsS)} with all running and nothing coming in`;
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
      `* Highest pressure if the line's full flow were stopped dead. 'Fills in': the line alone, at ` +
        `the pump's full flow. 'Safe': share of the line's running flow at which it can be filled ` +
        `without harm to a hose or a light head, and 'slowly' the time that then takes. The whole lay ` +
        `holds ${full(found.layVolumeM3, 'volume', units)} and takes ${seconds(found.layFillS)} at full ` +
        'flow.',
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
  return `Verdict: ${first}; suction ` + `${suction}${shortestS < Infinity ? `; water ${leftWords(shortestS)}` : ''}.`;
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
