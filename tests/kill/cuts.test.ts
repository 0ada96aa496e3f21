/** Everything else that ends suddenly: the broker, the network both ways, the clock, the disk. */
import { execFileSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { connect, createServer, type Server, type Socket } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { FeedPicture } from '../../config/wire/feed.ts';
import { openEmbeddedBroker, type EmbeddedBroker } from '../../gateway/ingest/transport/embedded-broker.ts';
import type { Hearing } from '../../gateway/ingest/transport/parallel-connection.ts';
import { openMqttSource, topicsOf, type SourcePacket } from '../../gateway/ingest/transport/mqtt-source.ts';
import { History } from '../../gateway/journal/history.ts';
import { Journal } from '../../gateway/journal/journal.ts';
import { RunLoop } from '../../gateway/site/run-loop.ts';
import { blankPicture } from '../support/blank-picture.ts';
import { demoSite } from '../support/demo-site.ts';
import { aFreePort, until } from '../support/gateway-process.ts';
import { missing } from '../support/machine.ts';
import { Mosquitto } from '../support/mosquitto.ts';
import { Plugged, recorded, Senders, wait } from './plug.ts';

const { layout, text } = demoSite();
const endings: (() => unknown)[] = [];
let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'wetdown-cuts-'));
});
afterEach(async () => {
  for (const end of endings.splice(0).reverse()) await end();
  rmSync(folder, { recursive: true, force: true });
});

/** The loop with a journal, a core that only tells the time, and the wall's clock plus `aheadMs`. */
class Gateway {
  readonly loop: RunLoop;
  aheadMs = 0;
  shown = 0;
  /** The senders' values rise. */
  newest = 0;
  feed: FeedPicture | null = null;
  state = 'connecting';
  /** Until it listens: the broker is inside. */
  hears: (how: Hearing) => void = () => undefined;
  again = (): void => undefined;

  constructor(data: string) {
    this.loop = new RunLoop({
      layout,
      layoutText: text,
      software: 'test',
      bundledSimulator: false,
      broker: '',
      wallMs: () => Date.now() + this.aheadMs,
      makeWatch: (_layout, { simulated }) => ({
        take: ({ value }) => void (this.newest = Math.max(this.newest, value)),
        silence: () => undefined,
        enter: () => null,
        books: () => '',
        restore: () => undefined,
        advance: (nowMs) => blankPicture(Math.floor(nowMs / 1_000) * 1_000, { simulated }),
      }),
      openJournal: (facts, patient) => Journal.open(data, facts, patient),
      restarted: () => undefined,
      senders: { hear: (how) => this.hears(how), again: () => this.again() },
      show: (_picture, feed) => {
        this.shown += 1;
        this.feed = feed;
      },
    });
    const ticker = setInterval(() => this.loop.tick(), 50);
    endings.push(() => {
      clearInterval(ticker);
      this.loop.close();
    });
  }

  readonly hear = (packet: SourcePacket): void => this.loop.packet(packet);

  async listen(url: string): Promise<void> {
    const source = openMqttSource(url, layout.site, `test-${folder.slice(-6)}`, {
      packet: this.hear,
      state: (state) => (this.state = state),
    });
    endings.push(() => source.close());
    this.hears = source.hear;
    this.again = source.again;
    await until(() => this.state === 'connected');
  }
}

/** Between two ends of a connection: passes on, says nothing, or cuts. */
class Wire {
  port = 0;
  silent = false;
  readonly #ends = new Set<Socket>();
  readonly #server: Server;

  private constructor(to: number) {
    this.#server = createServer((near) => {
      const far = connect(to, '127.0.0.1');
      for (const [from, into] of [
        [near, far],
        [far, near],
      ] as const) {
        this.#ends.add(from);
        from.on('error', () => undefined);
        from.on('data', (bytes: Buffer) => {
          if (!this.silent) into.write(bytes);
        });
        from.on('close', () => {
          this.#ends.delete(from);
          into.destroy();
        });
      }
    });
  }

  static async lay(to: number): Promise<Wire> {
    const wire = new Wire(to);
    await new Promise<void>((done) => void wire.#server.listen(0, '127.0.0.1', done));
    const address = wire.#server.address();
    wire.port = typeof address === 'object' && address ? address.port : 0;
    endings.push(() => {
      wire.cut();
      wire.#server.close();
    });
    return wire;
  }

  cut(): void {
    for (const end of this.#ends) end.destroy();
  }

  /** What is on its way gets lost first, then the connection. */
  async fail(): Promise<void> {
    this.silent = true;
    await new Promise((done) => setTimeout(done, 150));
    this.cut();
    this.silent = false;
  }
}

function sending(port: number): Senders {
  const senders = new Senders(port, 300);
  endings.push(() => senders.close());
  return senders;
}

/** All of them there, each once. */
async function complete(data: string, senders: Senders, gateway: Gateway): Promise<void> {
  await senders.rest();
  await until(() => {
    gateway.loop.flush();
    const { values } = recorded(data);
    return senders.acknowledged.every((number) => values.has(number));
  });
  expect(recorded(data)).toMatchObject({ twice: 0, integrity: 'ok', files: 1 });
}

async function inside(gateway: Gateway): Promise<EmbeddedBroker> {
  const broker = await openEmbeddedBroker('127.0.0.1', 0);
  endings.push(() => broker.close());
  broker.hear(topicsOf(layout.site, []), gateway.hear);
  gateway.again = broker.again;
  return broker;
}

describe('the network', () => {
  it('between devices and the broker inside may be cut both ways, again and again', async () => {
    const gateway = new Gateway(folder);
    const wire = await Wire.lay((await inside(gateway)).port);
    const senders = sending(wire.port);
    for (let cut = 1; cut <= 4; cut += 1) {
      await until(() => senders.acknowledged.length > 100 * cut);
      await wire.fail();
    }
    await complete(folder, senders, gateway);
    expect(gateway.feed?.rejected.find(({ reason }) => reason === 'ingest/duplicate')?.count).toBeGreaterThan(0);
  });

  it.skipIf(missing('mosquitto'))('between a foreign broker and the gateway too', async () => {
    const broker = await Mosquitto.start(folder, ['persistence false', 'max_queued_messages 0']);
    endings.push(() => broker.stop());
    const wire = await Wire.lay(broker.port);
    const data = join(folder, 'data');
    mkdirSync(data);
    const gateway = new Gateway(data);
    await gateway.listen(`mqtt://127.0.0.1:${wire.port}`);
    const senders = sending(broker.port);
    for (let cut = 1; cut <= 2; cut += 1) {
      await until(() => senders.acknowledged.length > 200 * cut && gateway.state === 'connected');
      await wire.fail();
    }
    await complete(data, senders, gateway);
  });
});

describe('a foreign broker', () => {
  it.skipIf(missing('mosquitto'))(
    'that is killed is found again when it is back, and what devices keep comes then',
    async () => {
      const broker = await Mosquitto.start(folder);
      endings.push(() => broker.stop());
      const data = join(folder, 'data');
      mkdirSync(data);
      const gateway = new Gateway(data);
      await gateway.listen(broker.url);
      const before = sending(broker.port);
      await until(() => before.acknowledged.length > 200);
      await before.rest();
      // What the broker itself acknowledged and had not handed over dies with it: here it had.
      await until(() => recorded(data).values.size === before.sent);
      before.close();
      await broker.stop('SIGKILL');
      await until(() => gateway.state === 'lost');
      await broker.again();
      await until(() => gateway.state === 'connected');
      const after = sending(broker.port);
      await until(() => after.acknowledged.length > 100);
      await after.rest();
      await until(() => {
        const { values } = recorded(data);
        return after.acknowledged.every((number) => values.has(number));
      });
    },
  );
});

describe('the clock of the gateway', () => {
  it('may step back an hour and ahead a day: every packet is stored once, pictures go on, and in no run does time go back', async () => {
    const gateway = new Gateway(folder);
    const senders = sending((await inside(gateway)).port);
    for (const [step, aheadMs] of [-3_600_000, 86_400_000, 0].entries()) {
      await until(() => senders.acknowledged.length > 60 * (step + 1));
      gateway.aheadMs = aheadMs;
      const { shown } = gateway;
      await until(() => gateway.shown > shown + 1);
    }
    await senders.rest();
    gateway.loop.flush();
    const { values, twice, integrity, files } = recorded(folder);
    // A new run for each step back.
    expect([values.size, twice, integrity, files]).toEqual([senders.sent, 0, 'ok', 3]);
    for (const file of readdirSync(folder).filter((name) => name.endsWith('.sqlite'))) {
      const times = recordedTimes(join(folder, file));
      expect(times.every((atMs, at) => atMs >= (times[at - 1] ?? 0))).toBe(true);
    }
  });
});

function recordedTimes(path: string): number[] {
  const history = new History(path);
  const times: number[] = [];
  for (let event = history.next(); event; event = history.next())
    if (event.kind === 'packet') times.push(event.receivedMs);
  history.close();
  return times;
}

const noMount = ((): boolean => {
  const point = mkdtempSync(join(tmpdir(), 'wetdown-mount-'));
  try {
    execFileSync('mount', ['-t', 'tmpfs', '-o', 'size=1m', 'none', point], { stdio: 'ignore' });
    execFileSync('umount', [point]);
    return false;
  } catch {
    process.stderr.write('SKIPPED: a small disk cannot be mounted here\n');
    return true;
  } finally {
    rmSync(point, { recursive: true, force: true });
  }
})();

describe.skipIf(noMount)('a full disk', () => {
  /** Makes room again. */
  function fill(data: string): () => void {
    mkdirSync(data);
    execFileSync('mount', ['-t', 'tmpfs', '-o', 'size=4m', 'none', data]);
    endings.push(() => execFileSync('umount', [data]));
    const filler = join(data, 'filler');
    writeFileSync(filler, Buffer.alloc(3_300_000));
    return () => rmSync(filler);
  }

  async function foreign(): Promise<Mosquitto> {
    const broker = await Mosquitto.start(folder, ['persistence false', 'max_queued_messages 0']);
    endings.push(() => broker.stop());
    return broker;
  }

  it.skipIf(missing('mosquitto')).each(['inside', 'foreign'])(
    'is said, the watch goes on, and recording resumes by itself with what came meanwhile: broker %s',
    async (kind) => {
      const data = join(folder, 'small');
      const room = fill(data);
      const broker = kind === 'foreign' ? await foreign() : null;
      const gateway = new Gateway(data);
      if (broker) await gateway.listen(broker.url);
      const senders = sending(broker?.port ?? (await inside(gateway)).port);
      await until(() => gateway.feed?.journal.state === 'failed');
      expect(gateway.feed?.journal.why).toContain('full');
      await wait(1_000);
      const [{ shown, newest }, { length }] = [gateway, senders.acknowledged];
      await wait(3_000);
      expect(gateway.shown).toBeGreaterThan(shown + 2);
      if (kind === 'foreign') expect(gateway.newest - newest).toBeGreaterThan(600);
      else {
        // Nothing on disk to answer for; the devices are heard as far as their windows reach, 50 each.
        expect(senders.acknowledged.length).toBe(length);
        expect(gateway.newest - length).toBeGreaterThan(280);
      }
      room();
      await until(() => gateway.feed?.journal.state === 'writing');
      await complete(data, senders, gateway);
      expect(recorded(data).values.size).toBe(senders.sent);
    },
  );

  it.skipIf(missing('mosquitto')).each(['inside', 'foreign'])(
    'and the plug pulled meanwhile lose nothing that was acknowledged: broker %s',
    async (kind) => {
      const data = join(folder, 'small');
      const room = fill(data);
      const broker = kind === 'foreign' ? await foreign() : null;
      const port = broker?.port ?? (await aFreePort());
      const gateway = new Plugged(
        ['--data', data, ...(broker ? ['--broker', broker.url] : ['--broker-port', String(port)])],
        await aFreePort(),
      );
      endings.push(() => gateway.end('SIGKILL'));
      gateway.start();
      await gateway.onAir();
      await gateway.connected();
      const senders = sending(port);
      await until(async () => (await gateway.feed())?.journal.state === 'failed');
      await wait(2_000);
      const { length } = senders.acknowledged;
      await wait(2_000);
      await gateway.end('SIGKILL');
      expect(senders.acknowledged.length > length).toBe(kind === 'foreign');
      room();
      gateway.start();
      await gateway.onAir();
      await senders.rest();
      await until(() => {
        const { values } = recorded(data);
        return senders.acknowledged.every((number) => values.has(number));
      });
      await gateway.end('SIGTERM');
      expect(recorded(data)).toMatchObject({ twice: 0, integrity: 'ok' });
    },
  );
});
