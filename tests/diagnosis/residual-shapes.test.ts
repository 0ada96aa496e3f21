/** How long a growth at the pump's own gauges is remembered once it stands still, and at which gauges one is looked for. */
import { expect, it } from 'vitest';
import { gaugesOf } from '../../gateway/core/diagnosis/model/gauge.ts';
import { GaugeHistory, SEGMENT_MS } from '../../gateway/core/diagnosis/residuals/gauge-history.ts';
import { ResidualShapes } from '../../gateway/core/diagnosis/residuals/residual-shapes.ts';
import { shapeOf } from '../../gateway/core/diagnosis/residuals/shape.ts';
import { buildNetwork } from '../../gateway/core/hydraulics/network.ts';
import { siteLayout } from '../support/drive.ts';

const layout = siteLayout('larch-cove');
const gauges = gaugesOf(layout, buildNetwork(layout));

it('what has grown at the pump counts as growing for two minutes after that was last plain; line ends are not asked', () => {
  const history = new GaugeHistory(gauges.map(() => 1));
  const shapes = new ResidualShapes();
  const rise = gauges.findIndex(({ kind }) => kind === 'rise');
  const grew: number[] = [];
  const plain: number[] = [];
  for (let second = 1; second <= 400; second += 1) {
    // It falls for a minute, then stands; a little noise, else any line fits.
    const value = -500 * Math.min(60, Math.max(0, second - 60)) + (second % 2 === 0 ? 300 : -300);
    gauges.forEach((_, gauge) => history.file(gauge, 1_000 * second, value));
    const told = shapes.of(gauges, history, 1_000 * second);
    if (told.get(rise) === 'grows') grew.push(second);
    if (shapeOf(history.points(rise, 1_000 * second - SEGMENT_MS), 1_000 * second) === 'grows') plain.push(second);
    gauges.forEach(({ kind }, gauge) => {
      if (kind === 'end' || kind === 'flow') expect(told.has(gauge)).toBe(false);
    });
  }
  expect(plain.length).toBeGreaterThan(30);
  expect(grew[0]).toBe(plain[0]);
  expect(grew.at(-1)! - plain.at(-1)!).toBe(119);
});
