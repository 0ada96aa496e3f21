/**
 * A device as they are: one reading a packet at QoS 1, a window of packets on their way, and everything that was not
 * acknowledged sent again after a cut, in order, without the DUP flag.
 *
 * In: a broker's port, a client's name. Out: which numbers were acknowledged. Bytes as in MQTT 3.1.1 sections 3.1 to
 * 3.4; CONNACK and PUBACK are four bytes each, so there is nothing to parse.
 */
import { connect, type Socket } from 'node:net';

const WINDOW = 50;
const AGAIN_MS = 200;

export interface Message {
  readonly topic: string;
  readonly payload: string;
  readonly acknowledged: () => void;
}

export class Sender {
  readonly #port: number;
  readonly #name: string;
  readonly #waiting: Message[] = [];
  readonly #flying = new Map<number, Message>();
  #socket: Socket | null = null;
  #open = false;
  #id = 0;
  #ended = false;

  constructor(port: number, name: string) {
    this.#port = port;
    this.#name = name;
    this.#dial();
  }

  send(message: Message): void {
    this.#waiting.push(message);
    this.#fly();
  }

  end(): void {
    this.#ended = true;
    this.#socket?.destroy();
  }

  #dial(): void {
    const socket = connect(this.#port, '127.0.0.1');
    this.#socket = socket;
    let rest = Buffer.alloc(0);
    socket.on('error', () => undefined);
    socket.on('connect', () =>
      socket.write(
        Buffer.from([
          0x10,
          12 + this.#name.length,
          0,
          4,
          ...Buffer.from('MQTT'),
          4,
          2,
          0,
          60,
          0,
          this.#name.length,
          ...Buffer.from(this.#name),
        ]),
      ),
    );
    socket.on('data', (chunk: Buffer) => {
      rest = Buffer.concat([rest, chunk]);
      for (; rest.length >= 4; rest = rest.subarray(4)) this.#take(rest);
    });
    socket.on('close', () => {
      this.#open = false;
      if (!this.#ended) setTimeout(() => this.#dial(), AGAIN_MS);
    });
  }

  #take(packet: Buffer): void {
    if (packet[0] === 0x20) {
      this.#open = true;
      for (const [id, message] of this.#flying) this.#write(id, message);
    } else if (packet[0] === 0x40) {
      const id = packet.readUInt16BE(2);
      this.#flying.get(id)?.acknowledged();
      this.#flying.delete(id);
    } else throw new Error(`what is ${packet.toString('hex')}?`);
    this.#fly();
  }

  #fly(): void {
    while (this.#open && this.#flying.size < WINDOW) {
      const message = this.#waiting.shift();
      if (!message) return;
      this.#id = 1 + (this.#id % 65_535);
      this.#flying.set(this.#id, message);
      this.#write(this.#id, message);
    }
  }

  #write(id: number, { topic, payload }: Message): void {
    const body = Buffer.concat([
      Buffer.from([topic.length >> 8, topic.length & 255]),
      Buffer.from(topic),
      Buffer.from([id >> 8, id & 255]),
      Buffer.from(payload),
    ]);
    const length = body.length < 128 ? [body.length] : [0x80 | (body.length % 128), body.length >> 7];
    this.#socket?.write(Buffer.concat([Buffer.from([0x32, ...length]), body]));
  }
}
