/**
 * What the lay would do if: a line gated, the throttle moved, a head lost or taken off, the tank lower. For the screen,
 * in the browser, without the gateway: each answer is one solve from the last, well under a millisecond.
 *
 * In: a layout; a change. Out: every head with its pressure, flow and standing, each pump, and whether the model found
 * an answer at all. The lay as its file says, uncalibrated: kit figures are good to 5-10 %.
 */
import type { Layout } from '../../../config/layout/layout.ts';
import { judgeSuction, npshAvailableM } from './cavitation.ts';
import type { SuctionVerdict } from './cavitation.ts';
import { solveRigged } from './governor.ts';
import { buildNetwork } from './network.ts';
import type { Network } from './network.ts';
import { standingOf, WATER_C, type HeadStanding } from './limits.ts';
import { asRigged } from './settings.ts';
import type { Solution } from './solution.ts';

/** All by id; what is not named stays as rigged. */
export interface Change {
  readonly gateOpening: Readonly<Record<string, number>>;
  /** Ratio to rated. */
  readonly pumpSpeed: Readonly<Record<string, number>>;
  /** Depth of water over the floor, m. */
  readonly sourceLevelM: Readonly<Record<string, number>>;
  /** 'off': the head is gone and its fitting runs open. 'taken': taken off and the feeder closed. */
  readonly head: Readonly<Record<string, 'off' | 'taken'>>;
}

export const NO_CHANGE: Change = { gateOpening: {}, pumpSpeed: {}, sourceLevelM: {}, head: {} };

export interface Answer {
  /** Null: found. Else why the model has no answer; all figures are then meaningless. */
  readonly fault: string | null;
  readonly heads: readonly {
    readonly id: string;
    readonly pressurePa: number;
    readonly flowM3s: number;
    readonly standing: HeadStanding;
    readonly taken: boolean;
  }[];
  readonly pumps: readonly {
    readonly id: string;
    readonly flowM3s: number;
    readonly dischargePa: number;
    readonly suctionPa: number;
    readonly suction: SuctionVerdict;
    readonly speed: number;
  }[];
}

export class WhatIf {
  readonly network: Network;
  #last: Solution | undefined;

  constructor(layout: Layout) {
    this.network = buildNetwork(layout);
  }

  answer(change: Change): Answer {
    const { network } = this;
    const { layout } = network;
    const settings = asRigged(network);
    layout.gates.forEach(({ id }, i) => (settings.gateOpening[i] = change.gateOpening[id] ?? settings.gateOpening[i]!));
    layout.pumps.forEach(({ id }, i) => (settings.pumpSpeed[i] = change.pumpSpeed[id] ?? settings.pumpSpeed[i]!));
    layout.sources.forEach(
      ({ id }, i) => (settings.sourceLevelM[i] = change.sourceLevelM[id] ?? settings.sourceLevelM[i]!),
    );
    layout.heads.forEach(({ id }, i) => {
      if (change.head[id] === 'off') settings.headOff[i] = 1;
      if (change.head[id] === 'taken') settings.headFactor[i] = 0;
    });
    const { solution, speed } = solveRigged(network, settings, this.#last);
    if (solution.converged) this.#last = solution;
    return {
      fault: solution.fault?.words ?? null,
      heads: layout.heads.map((head, i) => {
        const pressurePa = solution.pressurePa[network.nodeOfHead.get(head.id)!]!;
        return {
          id: head.id,
          pressurePa,
          flowM3s: solution.headFlowM3s[i]!,
          standing: standingOf(head, pressurePa),
          taken: change.head[head.id] !== undefined,
        };
      }),
      pumps: layout.pumps.map((pump, i) => {
        const suctionPa = solution.suctionPa[i]!;
        return {
          id: pump.id,
          flowM3s: solution.pumpFlowM3s[i]!,
          dischargePa: solution.pressurePa[network.nodeOfPlace.get(pump.outlet)!]!,
          suctionPa,
          suction: judgeSuction(npshAvailableM(suctionPa, layout.altitudeM, WATER_C), pump.kit.npshRequiredM),
          speed: speed[i]!,
        };
      }),
    };
  }
}
