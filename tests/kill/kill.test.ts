/** The plug pulled five times on each broker; `npm run kill` does it two hundred times. */
import { describe, expect, it } from 'vitest';
import { missing } from '../support/machine.ts';
import { pullThePlug } from './plug.ts';

async function survives(kind: 'inside' | 'mosquitto'): Promise<void> {
  const { backMs, acknowledged, ...outcome } = await pullThePlug(kind, 4, 500, 9_002);
  expect(outcome).toEqual({ kills: 5, missing: 0, twice: 0, integrity: 'ok', files: 1 });
  expect(acknowledged).toBeGreaterThan(1_000);
  expect(backMs.length).toBeGreaterThan(2);
}

describe('a gateway that is killed again and again has every acknowledged reading once, in one sound file', () => {
  it('with the broker inside', () => survives('inside'), 120_000);
  it.skipIf(missing('mosquitto'))('with a foreign broker', () => survives('mosquitto'), 120_000);
});
