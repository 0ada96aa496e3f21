/**
 * What the lay says of one pump's discharge: do its line ends hold water, and what would the lay take at that
 * pressure?
 *
 * In: layout, channels, estimate, this second's boundary, gates as ordered. Out: line ends up, gone (down to what
 * their heads hold with nothing flowing) or neither; the flow that the lay would take and that the pump can give,
 * m3/s, worked out only when asked for. A line end shut by order, or read before the discharge pressure changed, says
 * nothing.
 */
import type { Layout } from '../../../../config/layout/layout.ts';
import { PA_PER_M } from '../../hydraulics/constants.ts';
import type { Channel } from '../../telemetry/channel.ts';
import type { ParameterEstimate } from '../model/parameter-estimate.ts';
import { openEndK } from '../causes/open-end.ts';
import type { Change, Expectation } from '../model/expectation.ts';
import type { Boundary } from '../model/gauge.ts';
import { mostFlowM3s } from '../model/pump-limit.ts';

interface Balance {
  /** Most that the pump can give at the pressure measured. */
  readonly givesM3s: number;
  /** What the lay takes there if nothing is wrong with it, and with the hose at the outlet burst; NaN: not known. */
  readonly takesM3s: number;
  readonly burstM3s: number;
}

export interface Outlet {
  readonly ends: 'up' | 'gone' | 'unclear';
  /** Line ends that say so. */
  readonly openEnds: number;
  /** Highest pressure that water standing in the lay can hold at the pump, Pa. */
  readonly hillsPa: number;
  balance(): Balance;
}

export interface OutletInputs {
  readonly expectation: Expectation;
  readonly belief: ParameterEstimate;
  readonly boundary: Boundary;
  readonly channels: ReadonlyMap<string, Channel>;
  readonly discharge: Channel | undefined;
  /** The line is shut by order, so that its end says nothing. */
  readonly isIdle: (line: string) => boolean;
}

/**
 * Judgement: above what its heads hold, a line end that has a twentieth of the discharge pressure left is gone, one
 * that has a fifth is up; without a discharge gauge: so many Pa.
 */
const GONE_SHARE = 0.05;
const UP_SHARE = 0.2;
const GONE_PA = 40_000;
const UP_PA = 100_000;
/** Zeros and heights. */
const ABOUT_PA = 15_000;
/** Judgement: another pressure is one that differs by so much, beyond noise. */
const MOVED_SHARE = 0.03;

export function outletOf(inputs: OutletInputs, pump: number, nowMs: number): Outlet {
  const { layout } = inputs.expectation;
  const said = openEnds(inputs, nowMs);
  const up = said.filter((end) => end === 'up').length;
  const gone = said.filter((end) => end === 'gone').length;
  const eyeM = layout.pumps[pump]!.elevationM;
  const tops = [...layout.places, ...layout.heads].map(({ elevationM }) => elevationM);
  return {
    ends: up > 0 ? 'up' : gone > 0 && gone === said.length ? 'gone' : 'unclear',
    openEnds: said.length,
    hillsPa: PA_PER_M * Math.max(0, Math.max(...tops) - eyeM),
    balance: () => balanceOf(inputs, pump),
  };
}

/** One word of every line end that may speak. */
function openEnds({ expectation, channels, discharge, isIdle }: OutletInputs, nowMs: number): string[] {
  const { layout } = expectation;
  const pressurePa = discharge?.atLeast(nowMs) ?? null;
  return layout.sensors.flatMap(({ id, line, quantity, mounting }) => {
    if (quantity !== 'pressure' || line === null || mounting.kind !== 'place' || isIdle(line)) return [];
    const channel = channels.get(id)!;
    const value = channel.atLeast(nowMs);
    if (value === null) return [];
    const abovePa = value - restPa(layout, line, mounting.place) - ABOUT_PA;
    const [gonePa, upPa] =
      pressurePa === null ? [GONE_PA, UP_PA] : [GONE_SHARE * pressurePa, Math.max(GONE_PA, UP_SHARE * pressurePa)];
    const word = abovePa < gonePa ? 'gone' : abovePa > upPa ? 'up' : 'between';
    // What was up before the pump came to another pressure may be gone by now.
    return word === 'up' && pressurePa !== null && hasMoved(discharge!, channel.latest!.atMs, nowMs) ? [] : [word];
  });
}

/** What the line's heads hold at its end when nothing flows. */
function restPa(layout: Layout, line: string, place: string): number {
  const heights = layout.heads.filter((head) => head.line === line).map(({ elevationM }) => elevationM);
  const { elevationM } = layout.places.find(({ id }) => id === place)!;
  return heights.length === 0 ? 0 : PA_PER_M * Math.max(0, Math.min(...heights) - elevationM);
}

function hasMoved(channel: Channel, sinceMs: number, nowMs: number): boolean {
  const { noiseSd, intervalS } = channel.sensor;
  const values = channel.between(sinceMs - 1_500 * intervalS, nowMs).map(({ value }) => value);
  const top = Math.max(...values);
  return values.length > 1 && top - Math.min(...values) > MOVED_SHARE * top + 5 * noiseSd;
}

function balanceOf({ expectation, belief, boundary }: OutletInputs, pump: number): Balance {
  const { layout, network } = expectation;
  if (!Number.isFinite(boundary.dischargePa[pump]!)) return { givesM3s: NaN, takesM3s: NaN, burstM3s: NaN };
  const taken = (changes: readonly Change[]): number =>
    expectation.predict(belief, boundary, changes)?.solution.pumpFlowM3s[pump] ?? NaN;
  const { outlet } = layout.pumps[pump]!;
  const first = layout.hoses.find(({ from, to }) => from === outlet || to === outlet);
  const burst: Change = (settings) => {
    if (first)
      settings.leakK[network.nodeOfPlace.get(first.from === outlet ? first.to : first.from)!]! += openEndK(
        first.kit.boreM,
      );
  };
  return {
    givesM3s: mostFlowM3s(expectation, belief, boundary)[pump]!,
    takesM3s: taken([]),
    burstM3s: taken([burst]),
  };
}
