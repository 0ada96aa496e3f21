/** The builder of the tests itself: what it builds holds together and can be solved. */
import { expect, test } from 'vitest';
import { checkLayout } from '../../config/layout/layout-checks.ts';
import { FaultBook } from '../../config/layout/layout-fault.ts';
import { buildNetwork } from '../../gateway/core/hydraulics/network.ts';
import { asRigged } from '../../gateway/core/hydraulics/settings.ts';
import { solve } from '../../gateway/core/hydraulics/solve.ts';
import { headKitOf, hoseKitOf, LayoutBuilder } from '../support/layout-builder.ts';

test('a loop with one line is built in a few lines, passes the checks of a file, and flows', () => {
  const layout = new LayoutBuilder()
    .place('a1', 2)
    .tank('tank')
    .pump('pump', 'tank', 'p0')
    .chain(['p0', 'p1', 'p2', 'p0'])
    .gate('thief-a', 'p1', 'a0', { line: 'line-a' })
    .chain(['a0', 'a1'], { kit: hoseKitOf('lined-25'), line: 'line-a' })
    .head('h1', 'a1', { riseM: 3 })
    .head('h2', 'a1', { kit: headKitOf('impact-1'), feeder: hoseKitOf('feeder-19') })
    .pumpBox('pump', 'tank')
    .lineEnd('end-a', 'a1', 'line-a')
    .build({ site: 'loop' });
  const book = new FaultBook('loop');
  checkLayout(layout, book);
  expect(book.faults()).toEqual([]);
  expect(layout.site).toBe('loop');
  expect(layout.heads.map((head) => head.elevationM)).toEqual([5, 2]);
  expect(layout.hoses.map((hose) => hose.id)).toEqual(['p0-p1', 'p1-p2', 'p2-p0', 'a0-a1']);
  const network = buildNetwork(layout);
  const solution = solve(network, asRigged(network));
  expect(solution.converged).toBe(true);
  expect([...solution.headFlowM3s].every((flow) => flow > 0)).toBe(true);
});

test('a kit that does not exist is a mistake of the test', () => {
  expect(() => hoseKitOf('lined-99')).toThrow(/known: lined-65/);
});
