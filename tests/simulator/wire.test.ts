/**
 * The simulator as a process on a broker: devices of their own, status and last will, beat, orders, and its command
 * line.
 */
import { spawn, spawnSync, type ChildProcess } from 'node:child_process';
import mqtt, { type MqttClient } from 'mqtt';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { openEmbeddedBroker, type EmbeddedBroker } from '../../gateway/ingest/transport/embedded-broker.ts';
import { siteLayout } from '../support/drive.ts';

interface Heard {
  readonly topic: string;
  readonly text: string;
  readonly retained: boolean;
  readonly qos: number;
}

const MAIN = ['--import', 'tsx', 'simulator/main.ts'];
const DEVICES = [...new Set(siteLayout('larch-cove').sensors.map(({ device }) => device))];
const ROOT_TOPIC = 'wetdown/larch-cove';

let broker: EmbeddedBroker;
let ear: MqttClient;
let heard: Heard[] = [];
const children: ChildProcess[] = [];
const listeners = new Set<() => void>();

beforeAll(async () => {
  broker = await openEmbeddedBroker('127.0.0.1', 0);
  ear = await mqtt.connectAsync(broker.url, { clientId: 'ear' });
  ear.on('message', (topic, payload, packet) => {
    heard.push({ topic, text: payload.toString(), retained: packet.retain, qos: packet.qos });
    for (const check of listeners) check();
  });
  await ear.subscribeAsync('wetdown/#', { qos: 1 });
});

afterEach(async () => {
  for (const child of children.splice(0))
    if (child.exitCode === null && child.signalCode === null) await ended(child, 'SIGKILL');
  heard = [];
});

afterAll(async () => {
  await ear.endAsync(true);
  await broker.close();
});

function simulator(...args: string[]): ChildProcess {
  const child = spawn(process.execPath, [...MAIN, '--broker', broker.url, '--scenario', 'running', ...args], {
    stdio: ['ignore', 'ignore', 'ignore'],
  });
  children.push(child);
  return child;
}

function ended(child: ChildProcess, signal: NodeJS.Signals): Promise<number | null> {
  return new Promise((done) => {
    child.once('exit', (code) => done(code));
    child.kill(signal);
  });
}

/** Waits on what has been heard; the test's own time limit ends it. */
function until(holds: () => boolean): Promise<void> {
  return new Promise((done) => {
    const check = (): void => {
      if (!holds()) return;
      listeners.delete(check);
      done();
    };
    listeners.add(check);
    check();
  });
}

function command(...args: string[]): { readonly code: number | null; readonly out: string; readonly error: string } {
  const { status, stdout, stderr } = spawnSync(process.execPath, [...MAIN, ...args], { encoding: 'utf8' });
  return { code: status, out: stdout, error: stderr };
}

/** Asynchronous, because the broker that answers lives in this very process. */
function order(...args: string[]): Promise<{ readonly code: number | null; readonly said: string }> {
  const child = spawn(process.execPath, [...MAIN, ...args, '--broker', broker.url], {
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  children.push(child);
  let said = '';
  for (const stream of [child.stdout, child.stderr]) stream.on('data', (data: Buffer) => (said += data.toString()));
  return new Promise((done) => {
    child.once('close', (code) => done({ code, said }));
  });
}

function statuses(): Map<string, boolean> {
  const latest = heard
    .filter(({ topic }) => topic.endsWith('/status'))
    .map(({ topic, text }) => [topic.split('/')[2]!, (JSON.parse(text) as { online: boolean }).online] as const);
  return new Map(latest);
}

const allSay = (online: boolean): boolean => DEVICES.every((device) => statuses().get(device) === online);
const packs = (): Heard[] => heard.filter(({ topic }) => topic.endsWith('/senml'));
const beats = (): { timeMs: number; speed: number | null }[] =>
  heard
    .filter(({ topic }) => topic === `${ROOT_TOPIC}/simulation`)
    .map(({ text }) => JSON.parse(text) as { timeMs: number; speed: number | null });

describe('on the wire', () => {
  it('sends marked packs at QoS 1 from every device, after the beat of their second, and says goodbye', async () => {
    const child = simulator('--speed', 'max');
    await until(
      () => allSay(true) && beats().length > 20 && new Set(packs().map(({ topic }) => topic)).size === DEVICES.length,
    );
    expect(
      packs().every(
        ({ qos, text }) => qos === 1 && (JSON.parse(text) as { simulated?: boolean }[])[0]!.simulated === true,
      ),
    ).toBe(true);
    expect(beats().every(({ speed }) => speed === null)).toBe(true);
    let clockMs = 0;
    for (const { topic, text } of heard) {
      if (topic === `${ROOT_TOPIC}/simulation`) clockMs = (JSON.parse(text) as { timeMs: number }).timeMs;
      if (topic.endsWith('/senml'))
        expect((JSON.parse(text) as { bt: number }[])[0]!.bt * 1_000).toBeLessThan(clockMs + 1_000);
    }
    expect(await ended(child, 'SIGTERM')).toBe(0);
    await until(() => allSay(false));
  });

  it('is declared offline by its last wills when it is killed', async () => {
    const child = simulator();
    await until(() => allSay(true) && packs().length > 0);
    await ended(child, 'SIGKILL');
    await until(() => allSay(false));
    expect(
      heard
        .filter(({ topic }) => topic.endsWith('/status'))
        .every(({ text }) => (JSON.parse(text) as { simulated: boolean }).simulated),
    ).toBe(true);
  });

  it('takes orders, answers bad ones with what would be right, and lives on', async () => {
    simulator();
    await until(() => packs().length > 0);
    const answers = (): { ok: boolean; words: string }[] =>
      heard
        .filter(({ topic }) => topic.endsWith('/answer'))
        .map(({ text }) => JSON.parse(text) as { ok: boolean; words: string });
    const bad = [
      'not json',
      '[]',
      'null',
      '{"do":"start"}',
      '{"do":"start","what":"head-off","at":"z-9"}',
      '{"do":"start","what":"__proto__"}',
    ];
    for (const text of bad) await ear.publishAsync(`${ROOT_TOPIC}/simulation/order`, text, { qos: 1 });
    await until(() => answers().length === bad.length);
    expect(answers().map(({ ok }) => ok)).toEqual(bad.map(() => false));
    expect(answers()[4]!.words).toMatch(/no head 'z-9'/);
    const done = await order('start', 'head-off', '--at', 'a-3');
    expect(done.code).toBe(0);
    const truth = await order('truth');
    expect(truth.said).toMatch(/"what":"head-off","at":"a-3"/);
    const refused = await order('start', 'head-off', '--at', 'z-9');
    expect(refused.code).toBe(2);
    expect(refused.said).toMatch(/no head 'z-9'/);
    const before = packs().length;
    await until(() => packs().length > before);
  });
});

describe('the command line', () => {
  it.each([
    { args: ['--sped', '2'], right: /sped/ },
    { args: ['--speed', '0'], right: /above 0, or max/ },
    { args: ['--seed', 'x'], right: /number from 0 up/ },
    { args: ['--scenario', 'nowhere'], right: /Known:.*running/ },
    { args: ['--site', 'nowhere.yaml'], right: /no site file/ },
    { args: ['explode'], right: /run, start, repair, truth or list/ },
    { args: ['start'], right: /Say what to start: head-off/ },
  ])('ends with 2 and a sentence for $args', ({ args, right }) => {
    const { code, error } = command(...args);
    expect(code).toBe(2);
    expect(error).toMatch(right);
    expect(error).not.toMatch(/\n\s+at /);
  });

  it('explains itself', () => {
    const { code, out } = command('--help');
    expect(code).toBe(0);
    for (const word of ['--speed', 'repair', 'head-off', 'sensor-drift', 'tender']) expect(out).toContain(word);
  });

  it('lists the names that orders take', () => {
    expect(command('list').out).toMatch(/a-3 .*lake eave/);
  });
});
