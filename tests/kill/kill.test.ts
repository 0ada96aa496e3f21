/** The plug pulled five times on each broker; `npm run kill` does it two hundred times. */
import { describe, expect, it } from 'vitest';
import { missing } from '../support/machine.ts';
import { pullThePlug } from './plug.ts';

describe('a gateway that is killed again and again', () => {
  it.each([['inside' as const], ['mosquitto' as const]])('has every acknowledged reading once, in one sound file: broker %s', async (kind) => {
    if (kind === 'mosquitto' && missing('mosquitto')) return;
    const { backMs, acknowledged, ...outcome } = await pullThePlug(kind, 4, 500, 9_002);
    expect(outcome).toEqual({ kills: 5, missing: 0, twice: 0, integrity: 'ok', files: 1 });
    expect(acknowledged).toBeGreaterThan(1_000);
    expect(backMs.length).toBeGreaterThan(2);
  }, 120_000);
});
