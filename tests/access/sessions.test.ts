/** Who is let in, who waits, and what the credentials file may look like. */
import { execFileSync, spawnSync } from 'node:child_process';
import { chmodSync, mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import {
  NO_CREDENTIALS,
  parseCredentials,
  readCredentials,
  writeCredentials,
} from '../../gateway/access/credentials.ts';
import { Sessions, networkOf, SESSION_MS } from '../../gateway/access/sessions.ts';
import { freshSecret, opens, PERSON_COST, seal } from '../../gateway/access/passphrase.ts';
import { Throttle } from '../../gateway/access/sign-in-delay.ts';

const QUICK = { logN: 10, r: 8, p: 1 };

describe('a seal', () => {
  it('opens to its secret only, however its letters are encoded, and is another each time', async () => {
    const sealed = await seal('gr\u00FCner Steg am See', PERSON_COST);
    expect(sealed).toMatch(/^scrypt:15:8:3:/);
    expect(await opens('gru\u0308ner Steg am See', sealed)).toBe(true);
    expect(await opens('gruner Steg am See', sealed)).toBe(false);
    expect(await seal('gr\u00FCner Steg am See', QUICK)).not.toBe(await seal('gr\u00FCner Steg am See', QUICK));
  });

  it.each([
    '',
    'scrypt:15:8:3:x:y',
    'scrypt:30:8:1:aaaaaaaaaaaaaaaaaaaaaa:aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa',
    'secret',
  ])('that is none (%s) is opened by nothing', async (sealed) => {
    expect(await opens('secret', sealed)).toBe(false);
  });

  it('is not spent on a secret that is empty or a book', async () => {
    const sealed = await seal('x', QUICK);
    expect(await opens('', sealed)).toBe(false);
    expect(await opens('x'.repeat(10_000), sealed)).toBe(false);
  });

  it('many at once all come to an end', async () => {
    const sealed = await seal('one', QUICK);
    expect(await Promise.all(Array.from({ length: 20 }, (_, i) => opens(i % 2 ? 'one' : 'two', sealed)))).toEqual(
      Array.from({ length: 20 }, (_, i) => i % 2 === 1),
    );
  });

  it('fresh secrets are long, differ, and have no letters that are taken for others', () => {
    const secrets = Array.from({ length: 200 }, () => freshSecret(6));
    expect(new Set(secrets).size).toBe(200);
    for (const secret of secrets) expect(secret).toMatch(/^([2-9a-hjkmnp-z]{4}-){5}[2-9a-hjkmnp-z]{4}$/);
  });
});

describe('the throttle', () => {
  it('lets three tries go, then doubles the wait to five minutes, and forgets after an hour', () => {
    const throttle = new Throttle(1_000);
    let nowMs = 1_000_000;
    const waits: number[] = [];
    for (let tries = 0; tries < 14; tries += 1) {
      const waitMs = throttle.begin('a', nowMs);
      waits.push(waitMs);
      nowMs += waitMs;
      if (waitMs > 0) expect(throttle.begin('a', nowMs)).toBe(0);
    }
    expect(waits).toEqual([0, 0, 0, 1, 2, 4, 8, 16, 32, 64, 128, 256, 300, 300].map((s) => s * 1_000));
    expect(throttle.begin('b', nowMs)).toBe(0);
    expect(throttle.begin('a', nowMs + 3_600_000)).toBe(0);
  });

  it('a success wipes the slate; a clock that was set back locks nobody out; all together are bounded', () => {
    const throttle = new Throttle(5);
    for (let tries = 0; tries < 4; tries += 1) throttle.begin('a', 10_000);
    expect(throttle.begin('a', 10_000)).toBeGreaterThan(0);
    expect(throttle.begin('a', 5_000)).toBe(0);
    throttle.passed('a');
    expect(throttle.begin('a', 10_000)).toBe(0);
    const begun = Array.from({ length: 50 }, (_, i) => throttle.begin(`10.0.0.${i}`, 20_000)).filter(
      (waitMs) => waitMs === 0,
    );
    expect(begun).toHaveLength(5);
  });
});

describe('the door', () => {
  let door: Sessions;
  beforeAll(async () => {
    door = new Sessions({
      passphrases: { look: await seal('only looking', QUICK), work: await seal('really working', QUICK) },
      devices: new Map(),
    });
  });

  it('gives each passphrase its role for a day', async () => {
    const look = await door.signIn('only looking', '10.0.0.1', 0);
    const work = await door.signIn('really working', '10.0.0.1', 0);
    expect([look, work]).toMatchObject([
      { kind: 'in', role: 'look' },
      { kind: 'in', role: 'work' },
    ]);
    const session = work.kind === 'in' ? work.session : '';
    expect(door.roleOf(session, SESSION_MS - 1)).toBe('work');
    expect(door.roleOf(session, SESSION_MS)).toBeNull();
    expect(door.roleOf(session, 0)).toBeNull();
    expect(door.roleOf('made up', 0)).toBeNull();
  });

  it('makes who guesses wait, even with the right one, and nobody else', async () => {
    const kinds: string[] = [];
    for (let tries = 0; tries < 5; tries += 1)
      kinds.push((await door.signIn('wrong', '10.0.0.9', 1_000_000 + tries)).kind);
    expect(kinds).toEqual(['wrong', 'wrong', 'wrong', 'wait', 'wait']);
    expect((await door.signIn('really working', '10.0.0.9', 1_000_100)).kind).toBe('wait');
    expect((await door.signIn('really working', '10.0.0.8', 1_002_000)).kind).toBe('in');
    expect((await door.signIn('really working', '10.0.0.9', 1_004_000)).kind).toBe('in');
  });

  it('lets few stand in line, from however many addresses', async () => {
    const kinds = await Promise.all(
      Array.from({ length: 20 }, (_, i) => door.signIn('wrong', `10.1.0.${i}`, 5_000_000 + 1_000 * i)),
    );
    expect(kinds.filter(({ kind }) => kind === 'wrong')).toHaveLength(6);
    expect((await door.signIn('only looking', '10.1.1.1', 6_000_000)).kind).toBe('in');
  });

  it('a session that was signed out is over', async () => {
    const signed = await door.signIn('only looking', '10.0.0.1', 2_000_000);
    const session = signed.kind === 'in' ? signed.session : '';
    expect(door.roleOf(session, 2_000_001)).toBe('look');
    door.signOut(session);
    expect(door.roleOf(session, 2_000_001)).toBeNull();
  });

  it.each([
    ['192.168.1.7', '192.168.1.7'],
    ['::ffff:192.168.1.7', '192.168.1.7'],
    ['2001:db8:1:2:3:4:5:6', '2001:db8:1:2'],
    ['2001:db8::1', '2001:db8:0:0'],
    ['::1', '0:0:0:0'],
  ])('takes %s for %s', (address, network) => {
    expect(networkOf(address)).toBe(network);
  });
});

describe('the credentials file', () => {
  let folder = '';
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'wetdown-access-'));
  });
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  it('is written for its owner only, and read back', async () => {
    const path = join(folder, 'a.json');
    const devices = new Map([['pump-box', await seal('abc', QUICK)]]);
    writeCredentials(path, { passphrases: { look: null, work: await seal('def', QUICK) }, devices });
    expect(statSync(path).mode & 0o777).toBe(0o600);
    const file = readCredentials(path);
    expect(file.ok && file.credentials.devices).toEqual(devices);
    expect(file.ok && file.credentials.passphrases.look).toBeNull();
  });

  it('that others may read is refused', () => {
    const path = join(folder, 'open.json');
    writeCredentials(path, NO_CREDENTIALS);
    chmodSync(path, 0o640);
    expect(readCredentials(path)).toEqual({
      ok: false,
      why: expect.stringMatching(/can be read by others.*chmod 600/) as string,
    });
  });

  it.each([
    ['{', /not JSON/],
    ['[]', /missing/],
    ['{"look":"x"}', /missing/],
    ['{"wetdown-credentials":1,"look":"hunter-two"}', /look is not sealed/],
    ['{"wetdown-credentials":1,"devices":{"a/b":"x"}}', /a device/],
    ['{"wetdown-credentials":1,"devices":[]}', /no object/],
    ['{"wetdown-credentials":1,"__proto__":{"work":"x"}}', /none of/],
  ])('%s is refused without repeating what it holds', (text, words) => {
    const file = parseCredentials(text, 'x.json');
    expect(file.ok ? '' : file.why).toMatch(words);
    expect(file.ok ? '' : file.why).not.toContain('hunter-two');
  });

  it('is made by a command that shows each secret once', async () => {
    const path = join(folder, 'made.json');
    const command = (args: readonly string[], input = ''): { status: number | null; output: string } => {
      const { status, stdout, stderr } = spawnSync(
        process.execPath,
        ['--import', 'tsx', 'gateway/access/command.ts', '--file', path, ...args],
        { encoding: 'utf8', input },
      );
      return { status, output: stdout + stderr };
    };
    const made = command(['look', 'work', 'end-a']);
    const [, secret = ''] = /^end-a\s+(\S+)$/m.exec(made.output) ?? [];
    expect([made.status, readFileSync(path, 'utf8').includes(secret)]).toEqual([0, false]);
    const file = readCredentials(path);
    expect(file.ok && (await opens(secret, file.credentials.devices.get('end-a') ?? ''))).toBe(true);
    expect(command(['work', '--own'], 'short\n').output).toContain('12 to 200');
    expect(command(['end-a', '--remove']).status).toBe(0);
    expect(
      execFileSync(process.execPath, ['--import', 'tsx', 'gateway/access/command.ts', '--file', path], {
        encoding: 'utf8',
      }),
    ).toContain('made.json: look, work');
    writeFileSync(path, '{}', { mode: 0o600 });
    expect(command(['work']).output).toContain('no credentials file');
  });
});
