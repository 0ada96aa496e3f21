/** A gauge reads too high or too low. In: a gauge. Out: two hypotheses; size: standard deviations of its offset. */
import { type Hypothesis, offsetUnit, type Physics } from './hypothesis.ts';

export const sensorDrift: Physics = {
  atGauge: (_lay, gauge, index) => {
    const { id } = gauge.sensor;
    const drift = (sign: 1 | -1): Hypothesis => ({
      cause: 'sensor-drift',
      place: id,
      subject: id,
      subjectKind: 'channel',
      weight: 0.2,
      size: { fixed: false, low: 0.5, high: 200 },
      effect: { kind: 'offset', gauge: index, unit: sign * offsetUnit(gauge) },
    });
    return [drift(1), drift(-1)];
  },
};
