/** Accounts of the broker inside: who is who, which topics are whose, and at which pace a device may speak. */
import { beforeAll, describe, expect, it } from 'vitest';
import type { Mapping } from '../../config/mapping/mapping.ts';
import { BrokerAccounts } from '../../gateway/access/broker-accounts.ts';
import { seal } from '../../gateway/access/passphrase.ts';
import { PublishPace } from '../../gateway/ingest/transport/publish-pace.ts';

let accounts: BrokerAccounts;
beforeAll(async () => {
  accounts = new BrokerAccounts('larch-cove', new Map([['end-a', await seal('right', { logN: 10, r: 8, p: 1 })]]));
});

const say = (user: string | undefined, password: string | undefined, nowMs = 0): Promise<string | null> =>
  accounts.authenticate(user, password === undefined ? undefined : Buffer.from(password), '10.0.0.1', nowMs);

describe('an account', () => {
  it('is a device by its password, and nobody else', async () => {
    expect(await say('end-a', 'right')).toBe('end-a');
    for (const [user, password] of [
      ['end-a', 'wrong'],
      ['end-b', 'right'],
      ['__proto__', 'right'],
      [':gateway', ''],
      [undefined, undefined],
      ['end-a', undefined],
    ] as const)
      expect(await say(user, password)).toBeNull();
  });

  it('that is guessed at waits, and only from there', async () => {
    for (let tries = 0; tries < 5; tries += 1) await say('end-a', `guess ${tries}`, 100_000);
    expect(await say('end-a', 'right', 100_100)).toBeNull();
    expect(await accounts.authenticate('end-a', Buffer.from('right'), '10.0.0.2', 102_000)).toBe('end-a');
  });

  it('of the simulator is in its address only', async () => {
    const { username, password } = new URL(accounts.simulatorAddress('mqtt://127.0.0.1:1883'));
    expect(await say(decodeURIComponent(username), password)).toBe(':simulator');
    expect(await say(':simulator', 'guess')).toBeNull();
  });

  it.each([
    ['end-a', 'wetdown/larch-cove/end-a/senml', true],
    ['end-a', 'wetdown/larch-cove/end-a', false],
    ['end-a', 'wetdown/larch-cove/end-ab/senml', false],
    ['end-a', 'wetdown/larch-cove/pump-box/senml', false],
    ['end-a', 'wetdown/other/end-a/senml', false],
    ['end-a', 'wetdown/larch-cove/simulation', false],
    [':simulator', 'wetdown/larch-cove/end-a/senml', true],
  ])('%s publishing to %s: %s', (account, topic, may) => {
    expect(accounts.mayPublish(account, topic)).toBe(may);
  });

  it('may also publish where the site file maps its packets from; a server by the name of its mapping', () => {
    const mapping = (id: string, topic: string, device: Mapping['device']): Mapping => ({
      id,
      topic,
      device,
      payload: 'json',
      each: null,
      time: null,
      records: [],
    });
    const mapped = new BrokerAccounts('larch-cove', new Map(), [
      mapping('orchard', 'orchard/+/measured', { kind: 'level', level: 2 }),
      mapping('valley', 'lora/#', { kind: 'member', at: ['node'] }),
    ]);
    const may = (account: string, topic: string): boolean => mapped.mayPublish(account, topic);
    expect([
      may('end-a', 'orchard/end-a/measured'),
      may('end-a', 'orchard/END-A/measured'),
      may('end-a', 'orchard/end-b/measured'),
      may('orchard', 'orchard/end-b/measured'),
    ]).toEqual([true, true, false, true]);
    expect([
      may('end-a', 'lora/x'),
      may('valley', 'lora/x'),
      may('valley', 'orchard/end-a/measured'),
      may(':gateway', 'lora/x'),
      may(':simulator', 'lora/x'),
      may('', 'orchard//measured'),
    ]).toEqual([false, true, false, false, false, false]);
  });

  it.each([
    ['end-a', '#', false],
    ['end-a', 'wetdown/larch-cove/+/senml', false],
    ['end-a', 'wetdown/larch-cove/end-a/#', true],
    ['end-a', '$share/x/wetdown/#', false],
    ['end-a', '$SYS/#', false],
    [':simulator', 'wetdown/larch-cove/simulation/order', true],
    [':simulator', 'wetdown/larch-cove/+/senml', false],
  ])('%s hearing %s: %s', (account, filter, may) => {
    expect(accounts.maySubscribe(account, filter)).toBe(may);
  });
});

describe('the pace of a device', () => {
  it('lets a backlog through at once, then two hundred a second, in order', () => {
    const pace = new PublishPace();
    const waits = Array.from({ length: 2_200 }, () => pace.waitMs(50_000));
    expect(waits.slice(0, 2_000).every((waitMs) => waitMs === 0)).toBe(true);
    expect(waits.at(-1)).toBeCloseTo(1_000, 6);
    expect(waits.every((waitMs, at) => waitMs >= (waits[at - 1] ?? 0))).toBe(true);
  });

  it('takes a large packet for several, so that larger ones are not a way round it', () => {
    const pace = new PublishPace();
    const waits = Array.from({ length: 600 }, () => pace.waitMs(50_000, 262_144));
    expect(waits.findIndex((waitMs) => waitMs > 0)).toBe(400);
  });

  it('never holds up who keeps to it', () => {
    const pace = new PublishPace();
    for (let packet = 0; packet < 20_000; packet += 1) expect(pace.waitMs(5 * packet)).toBe(0);
  });
});
