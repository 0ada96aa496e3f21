/** A mosquitto of a test's own on loopback: with or without a memory on disk, and restarted on the same port. */
import { spawn, type ChildProcess } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { connect } from 'node:net';
import { join } from 'node:path';
import { aFreePort, until } from './gateway-process.ts';
import { findProgram } from './machine.ts';

export class Mosquitto {
  readonly port: number;
  readonly #config: string;
  #child: ChildProcess | null = null;

  private constructor(port: number, config: string) {
    this.port = port;
    this.#config = config;
  }

  static async start(
    folder: string,
    lines: readonly string[] = ['persistence false'],
    port?: number,
  ): Promise<Mosquitto> {
    const chosen = port ?? (await aFreePort());
    const broker = new Mosquitto(chosen, join(folder, `mosquitto-${chosen}.conf`));
    writeFileSync(
      broker.#config,
      [`listener ${chosen} 127.0.0.1`, 'allow_anonymous true', 'user root', ...lines, ''].join('\n'),
    );
    await broker.again();
    return broker;
  }

  get url(): string {
    return `mqtt://127.0.0.1:${this.port}`;
  }

  async again(): Promise<void> {
    this.#child = spawn(findProgram('mosquitto') ?? '', ['-c', this.#config], { stdio: 'ignore' });
    await until(() => this.#answers());
  }

  stop(signal: NodeJS.Signals = 'SIGTERM'): Promise<void> {
    const child = this.#child;
    this.#child = null;
    return new Promise((done) => {
      if (!child || child.exitCode !== null) return done();
      child.once('close', () => done());
      child.kill(signal);
    });
  }

  #answers(): Promise<boolean> {
    return new Promise((done) => {
      const probe = connect(this.port, '127.0.0.1');
      probe.once('error', () => done(false));
      probe.once('connect', () => {
        probe.destroy();
        done(true);
      });
    });
  }
}
