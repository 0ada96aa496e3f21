/**
 * A strainer that clogs shows as more vacuum; air in the suction takes rise and, since the column is lighter, some of
 * the vacuum. Both leave the lay as it is.
 *
 * In: a suction or a discharge gauge. Out: the hypothesis; size: of vacuum, standard deviations of the gauge's offset;
 * of air, share of the rise.
 */
import type { Layout, Pump } from '../../../../config/layout/layout.ts';
import { PA_PER_M } from '../../hydraulics/constants.ts';
import { restLevelM, sourceDepthM } from '../../hydraulics/source.ts';
import { offsetUnit, type Physics } from './hypothesis.ts';

/** Judgement: air takes from little to all of a pump's rise. */
const LEAST_AIR = 0.03;
const MOST_AIR = 1;
/** Air that takes a share of the rise takes about half that share off the weight of the water in the suction. */
const AIR_IN_SUCTION = 0.5;

export const suctionTrouble: Physics = {
  atPumpGauge: ({ layout, gauges }, gauge, index) => {
    if (gauge.kind !== 'rise' && gauge.kind !== 'suction') return [];
    const pump = layout.pumps[gauge.pump]!;
    const about = {
      cause: 'suction-trouble',
      place: pump.id,
      subject: pump.id,
      subjectKind: 'pump',
    } as const;
    if (gauge.kind === 'suction')
      return [
        {
          ...about,
          weight: 1,
          size: { fixed: false, low: 0.5, high: 500 },
          effect: { kind: 'shift', moves: [{ gauge: index, unit: -offsetUnit(gauge) }] },
        },
      ];
    const suction = gauges.findIndex((other) => other.kind === 'suction' && other.pump === gauge.pump);
    const air = [
      { gauge: index, unit: -Math.max(...pump.kit.curveRisePa) },
      ...(suction < 0 ? [] : [{ gauge: suction, unit: AIR_IN_SUCTION * liftPa(layout, pump) }]),
    ];
    return [
      {
        ...about,
        weight: 0.62,
        size: { fixed: false, low: LEAST_AIR, high: MOST_AIR },
        effect: { kind: 'shift', moves: air },
      },
    ];
  },
};

/** What the pump lifts its water by, from a source half full; nothing where the water lies higher. */
function liftPa(layout: Layout, pump: Pump): number {
  const source = layout.sources.find(({ id }) => id === pump.source)!;
  return (
    PA_PER_M *
    Math.max(
      0,
      pump.elevationM -
        source.elevationM -
        (source.mains === null ? 0.5 * sourceDepthM(source.shape) : restLevelM(source)),
    )
  );
}
