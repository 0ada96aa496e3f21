/** Wear and fouling take some of a pump's rise; the lay stays as it is. In: a discharge gauge. Out: the hypothesis. */
import { offsetUnit, type Physics } from './hypothesis.ts';

/** Judgement: wear and fouling take up to this share of a pump's rise before somebody stops it. */
const MOST_WEAR = 0.3;

export const pumpFade: Physics = {
  atPumpGauge: ({ layout }, gauge, index) => {
    if (gauge.kind !== 'rise') return [];
    const { id, kit } = layout.pumps[gauge.pump]!;
    const unit = offsetUnit(gauge);
    return [
      {
        cause: 'pump-fade',
        place: id,
        subject: id,
        subjectKind: 'pump',
        weight: 1,
        size: { fixed: false, low: 0.5, high: (MOST_WEAR * Math.max(...kit.curveRisePa)) / unit },
        effect: { kind: 'shift', moves: [{ gauge: index, unit: -unit }] },
      },
    ];
  },
};
