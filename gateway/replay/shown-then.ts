/**
 * What the screen showed at any second of a recorded run, put together from the record.
 *
 * In: the run's record; for another set of rules, the record of a re-run. Out: the picture of that second: states,
 * alarms, notes and books from the last whole picture (one is recorded whenever any of them changed, and once a minute
 * besides), readings and their age as they had been received by then, the model's band of that very second. Where
 * nothing was recorded for longer than that, nothing is known, and the picture says so. Limit: volumes, water books and
 * the pressures of single heads are up to a minute old between whole pictures.
 */
import type { Layout, Sensor } from '../../config/layout/layout.ts';
import { namesIn, unknownPicture } from '../../config/wire/unknown-picture.ts';
import type { ChannelPicture, Picture, PumpPicture } from '../../config/wire/wire.ts';
import type { RunReader } from '../journal/run-reader.ts';
import { Channel } from '../core/telemetry/channel.ts';
import { channelPicture, foundBefore } from '../core/telemetry/channel-picture.ts';

/** A whole picture comes once a minute; a frame or two may be late. */
const HOLE_MS = 90_000;
/** Enough to tell a stuck sensor. */
const READINGS = 16;

export interface PictureRecordReader {
  readonly pictureAt: RunReader['pictureAt'];
  readonly bandAt: RunReader['bandAt'];
}

export class ShownThen {
  readonly #layout: Layout;
  readonly #record: RunReader;
  readonly #pictures: PictureRecordReader;
  readonly #hindsight: boolean;

  /** `hindsight`: readings that came late stand at their own time. */
  constructor(layout: Layout, record: RunReader, pictures: PictureRecordReader = record, hindsight = false) {
    this.#hindsight = hindsight;
    this.#layout = layout;
    this.#record = record;
    this.#pictures = pictures;
  }

  /** Null before the first picture of the run. */
  at(momentMs: number): Picture | null {
    const atMs = Math.floor(momentMs / 1_000) * 1_000;
    const whole = this.#pictures.pictureAt(atMs);
    if (!whole || whole.atMs === atMs) return whole && this.#marked(whole);
    const channels = new Map(this.#layout.sensors.map((sensor) => [sensor.id, this.#channelAt(sensor, atMs)]));
    const before = new Map(whole.channels.map((channel) => [channel.channel, channel]));
    const shown = this.#layout.sensors.map((sensor) =>
      this.#shown(sensor, channels.get(sensor.id)!, before.get(sensor.id), atMs),
    );
    if (atMs - whole.atMs > HOLE_MS) return this.#marked(unrecorded(this.#layout, whole, shown, atMs));
    return this.#marked({
      ...whole,
      atMs,
      channels: shown,
      pumps: whole.pumps.map((pump) => this.#pumpAt(pump, channels, atMs)),
    });
  }

  /** A run that ever held simulated data is marked for good, also before the mark was made. */
  #marked(picture: Picture): Picture {
    return this.#record.header.simulated && !picture.simulated ? { ...picture, simulated: true } : picture;
  }

  #channelAt(sensor: Sensor, atMs: number): Channel {
    const channel = new Channel(sensor);
    for (const { atMs: measuredMs, value, receivedMs, deviceMs, inRange } of this.#record.channels.readingsBefore(
      sensor.id,
      atMs,
      READINGS,
      this.#hindsight,
    )) {
      channel.take({
        channel: sensor.id,
        value,
        atMs: measuredMs,
        receivedMs: this.#hindsight ? measuredMs : receivedMs,
        deviceMs: this.#hindsight ? measuredMs : deviceMs,
        grade: inRange ? 'good' : 'out-of-range',
      });
    }
    return channel;
  }

  #shown(sensor: Sensor, channel: Channel, before: ChannelPicture | undefined, atMs: number): ChannelPicture {
    // What moves with the rest and what is shut off shows over minutes: a whole picture was recorded when that was
    // found.
    return channelPicture(channel, atMs, { band: this.#pictures.bandAt(sensor.id, atMs), found: foundBefore(before) });
  }

  #pumpAt(pump: PumpPicture, channels: ReadonlyMap<string, Channel>, atMs: number): PumpPicture {
    const read = (fits: (sensor: Sensor) => boolean): number | null => {
      const sensor = this.#layout.sensors.find(
        (one) => 'pump' in one.mounting && one.mounting.pump === pump.pump && fits(one),
      );
      return sensor ? channels.get(sensor.id)!.usable(atMs) : null;
    };
    return {
      ...pump,
      dischargePa: read(({ quantity, mounting }) => quantity === 'pressure' && mounting.kind === 'discharge'),
      suctionPa: read(({ quantity, mounting }) => quantity === 'pressure' && mounting.kind === 'suction'),
      flowM3s: read(({ quantity }) => quantity === 'flow'),
      rotationHz: read(({ quantity }) => quantity === 'rotation'),
      fuelM3: read(({ quantity }) => quantity === 'fuel'),
    };
  }
}

/** Nothing was recorded: the last that was known stays as alarms and notes, every state is unknown. */
function unrecorded(layout: Layout, last: Picture, channels: readonly ChannelPicture[], atMs: number): Picture {
  return unknownPicture(namesIn(layout), last, {
    atMs,
    simulated: last.simulated,
    advice: {
      working: false,
      sinceMs: last.atMs,
      why: 'nothing was recorded in this stretch: the gateway was off, asleep or without a disk',
    },
    why: 'nothing was recorded then',
    channels,
    blind: ['Nothing was recorded in this stretch. Alarms and notes are as they were last known.'],
  });
}
