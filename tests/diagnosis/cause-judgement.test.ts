/** When a lay is judged: at once as long as its answer is open, seldom when it has settled, at once when somebody looked. */
import { expect, it } from 'vitest';
import { hypothesesOf } from '../../gateway/core/diagnosis/causes/causes.ts';
import type { Inspection } from '../../gateway/core/diagnosis/causes/inspections.ts';
import { CauseIsolation } from '../../gateway/core/diagnosis/isolation/cause-isolation.ts';
import { CauseJudgement, type JudgedFrame } from '../../gateway/core/diagnosis/isolation/cause-judgement.ts';
import { LocalModels } from '../../gateway/core/diagnosis/model/local-model.ts';
import { LayResiduals } from '../../gateway/core/diagnosis/residuals/lay-residuals.ts';
import { siteLayout } from '../support/drive.ts';
import { boundaryOf, modelledLay } from '../support/modelled-lay.ts';

const { layout, network, gauges, expectation, belief } = modelledLay(siteLayout('larch-cove'));
const hypotheses = hypothesesOf(layout, network, gauges);
const boundary = boundaryOf(layout, { dischargePa: 700_000 });

class Counted extends CauseIsolation {
  times = 0;

  override judge(...args: Parameters<CauseIsolation['judge']>): ReturnType<CauseIsolation['judge']> {
    this.times += 1;
    return super.judge(...args);
  }
}

/** A lay whose heads or hoses have this wrong with them from its first second on. */
class Lay {
  readonly isolation = new Counted(expectation, hypotheses);
  readonly residuals = new LayResiduals(gauges);
  readonly causes = new CauseJudgement(expectation, this.isolation, this.residuals);
  readonly #models = new LocalModels(expectation);
  readonly #read: Float64Array;
  second = 0;

  constructor(cause: string, place: string, size: number) {
    const { effect } = hypotheses.find((one) => one.cause === cause && one.place === place)!;
    this.#read = expectation.predict(belief, boundary, [
      (settings) => {
        if (effect.kind === 'network') effect.apply(settings, size);
      },
    ])!.values;
  }

  /** How often causes were weighed in so many seconds. */
  run(seconds: number, looks: readonly Inspection[] = []): number {
    const before = this.isolation.times;
    for (let count = 0; count < seconds; count += 1) {
      this.second += 1;
      const atMs = 1_000 * this.second;
      const wave = this.second % 2 === 0 ? 1 : -1;
      const frame: JudgedFrame = {
        atMs,
        fresh: this.#read.map((value, gauge) => value + wave * gauges[gauge]!.sensor.noiseSd),
        measuredMs: new Float64Array(gauges.length).fill(atMs),
        boundaryEveryMs: 1_000,
        boundary,
        boundaryMs: atMs,
        everyMs: gauges.map(() => 1_000),
        trusted: gauges.map(() => true),
        looks,
        hurt: new Set(),
        ordered: [],
      };
      const model = this.#models.at(belief, boundary, atMs, () => ({ age: 0, far: 0 }))!;
      this.residuals.file(frame, this.residuals.of(frame, model.healthy), model, this.causes.stands);
      this.causes.judge(frame, model);
    }
    return this.isolation.times - before;
  }
}

it('a lay is judged every second until its answer has settled, then every five to twenty seconds, and at once when somebody has looked', () => {
  const lay = new Lay('hose-burst', 'a-hose-1', 1);
  expect(lay.run(8)).toBeGreaterThanOrEqual(5);
  expect(lay.causes.findings.map(({ cause, subject }) => `${cause} ${subject}`)).toEqual(['hose-burst line-a']);
  lay.run(60);
  const late = lay.run(60);
  expect(late).toBeGreaterThanOrEqual(3);
  expect(late).toBeLessThanOrEqual(12);
  for (let tries = 0; tries < 30 && lay.run(1) > 0; tries += 1);
  expect(lay.run(1)).toBe(0);
  expect(lay.run(1, [{ at: 'a-hose-1', found: 'hose-burst', atMs: 1_000 * lay.second + 500 }])).toBeGreaterThan(0);
});
