/** The two pieces of arithmetic that everything rests on: the sparse solve and the fast power. */
import { describe, expect, it } from 'vitest';
import { flowPower } from '../../gateway/core/hydraulics/flow-power.ts';
import { factorise, planLinearSystem, substitute } from '../../gateway/core/hydraulics/linear-system.ts';
import { SeededRandom } from './random-network.ts';

describe('sparse solve', () => {
  it('returns the vector that the matrix was multiplied with, on any pattern', () => {
    for (let seed = 1; seed <= 60; seed++) {
      const dice = new SeededRandom(seed);
      const size = dice.whole(1, 60);
      const links = Array.from({ length: dice.whole(0, 3 * size) }, () => ({
        a: dice.whole(0, size - 1),
        // Past the last equation: a known value, which only adds to the diagonal.
        b: dice.whole(0, size),
        conductance: 10 ** dice.between(-6, 3),
      })).filter(({ a, b }) => a !== b);
      const system = planLinearSystem(
        size,
        links.map(({ a }) => a),
        links.map(({ b }) => b),
      );
      const x = Float64Array.from({ length: size }, () => dice.between(-1, 1));
      const b = new Float64Array(size);
      for (let i = 0; i < size; i++) {
        system.values[system.step[i]!]! += 1;
        b[i]! += x[i]!;
      }
      links.forEach(({ a, b: other, conductance }, k) => {
        const beyond = other === size ? 0 : x[other]!;
        system.values[system.step[a]!]! += conductance;
        b[a]! += conductance * (x[a]! - beyond);
        if (other === size) return;
        system.values[system.step[other]!]! += conductance;
        b[other]! += conductance * (beyond - x[a]!);
        system.values[system.couplingIndex[k]!]! -= conductance;
      });
      expect(factorise(system)).toBe(-1);
      const solution = new Float64Array(size);
      for (let i = 0; i < size; i++) solution[system.step[i]!] = b[i]!;
      substitute(system, solution);
      x.forEach((value, i) => expect(Math.abs(solution[system.step[i]!]! - value)).toBeLessThan(1e-9));
    }
  });

  it('fills in nothing on a tree', () => {
    const parents = Array.from({ length: 500 }, (_, i) => Math.floor(i / 2));
    const system = planLinearSystem(
      501,
      parents,
      parents.map((_, i) => i + 1),
    );
    expect(system.row.length).toBe(500);
  });

  it('says which equation has no pivot', () => {
    const system = planLinearSystem(3, [0], [1]);
    system.values[system.step[0]!] = 1;
    system.values[system.step[1]!] = 1;
    expect(factorise(system)).toBe(system.step[2]);
  });
});

it('q^0.852 is good to double precision over all flows that occur', () => {
  const dice = new SeededRandom(7);
  for (let i = 0; i < 20_000; i++) {
    const q = 10 ** dice.between(-15, 6);
    expect(Math.abs(flowPower(q) / q ** 0.852 - 1)).toBeLessThan(2e-15);
  }
});
