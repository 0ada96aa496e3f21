/** When a trouble recedes, rests and is over, by made-up residuals of three gauges. Common practice, no source. */
import { expect, it } from 'vitest';
import { Ending } from '../../gateway/core/diagnosis/isolation/ending.ts';
import { GaugeHistory } from '../../gateway/core/diagnosis/residuals/gauge-history.ts';

const SD = 1_000;
const NOISE = Float64Array.of(SD ** 2, 0, 0, 0, SD ** 2, 0, 0, 0, SD ** 2);
const TRUSTED = [true, true, true];
const STOOD = [-40_000, -8_000, 3_000];

interface Course {
  readonly ending: Ending;
  /** One second with so much of what stood, and so much besides; the phase after it. */
  readonly second: (share: number, besides?: readonly number[]) => string;
}

function stood(): Course {
  const history = new GaugeHistory([1, 1, 1]);
  const ending = new Ending();
  let atMs = 0;
  const second = (share: number, besides: readonly number[] = [0, 0, 0]): string => {
    atMs += 1_000;
    STOOD.forEach((shift, gauge) =>
      history.file(gauge, atMs, share * shift + besides[gauge]! + 200 * Math.sin(atMs + gauge)),
    );
    return ending.observe(history, atMs, NOISE, TRUSTED);
  };
  for (let count = 0; count < 20; count += 1) second(1);
  ending.stands(
    { observedGauges: [0, 1, 2], residual: Float64Array.from(STOOD), referenceOffset: new Float64Array(3) },
    history.segment(atMs, NOISE, TRUSTED),
    [],
    atMs,
  );
  return { ending, second };
}

it('stands while nothing changes, and while it grows', () => {
  const { second } = stood();
  for (let count = 0; count < 20; count += 1) expect(second(1)).toBe('stands');
  for (let count = 0; count < 20; count += 1) expect(second(1 + count / 10)).toBe('stands');
});

it('recedes from the first seconds of a repair to its last, and rests some seconds later on what came after', () => {
  const { ending, second } = stood();
  const phases = Array.from({ length: 45 }, (_, at) => second(Math.max(0, 1 - at / 20)));
  expect(phases.indexOf('recedes')).toBeLessThan(7);
  expect(phases.slice(7, 20).every((phase) => phase === 'recedes')).toBe(true);
  const rests = phases.indexOf('rests');
  expect(rests).toBeGreaterThan(20);
  expect(rests).toBeLessThan(32);
  expect(ending.restMs, 'not before the repair was done').toBeGreaterThanOrEqual(39_000);
});

it('rests at a half, and holds words for half a minute more', () => {
  const { second } = stood();
  const phases = Array.from({ length: 20 }, () => second(0.5));
  expect(phases.at(-1)).toBe('rests');
});

it('is no ending where more came than went: that is for a judgement', () => {
  const { second } = stood();
  for (let count = 0; count < 15; count += 1) expect(second(0.4, [0, 60_000, -60_000])).toBe('stands');
});

it('tells what lies the other way round from what stood, on the same gauges', () => {
  const { ending } = stood();
  const covariance = NOISE;
  const opposite = (residual: readonly number[]): boolean =>
    ending.isOpposite({ observedGauges: [0, 1, 2], residual: Float64Array.from(residual), covariance }, 30_000);
  expect(opposite([8_000, 1_600, -600])).toBe(true);
  expect(opposite([-8_000, -1_600, 600])).toBe(false);
  expect(opposite([0, 0, 9_000])).toBe(false);
});
