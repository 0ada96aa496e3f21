/**
 * What the simulated devices say on the wire: SenML packs (RFC 8428), status, the run's beat and its truth.
 *
 * In: samples of one device at one moment. Out: topic and payload. The first record of every pack carries the extra
 * member `simulated`, which receivers may ignore (RFC 8428, section 4.4), so that no reading can pass for a real one.
 */
import type { Quantity } from '../config/layout/layout.ts';
import type { Sample } from './sensors.ts';

const UNITS: Readonly<Record<Quantity, string>> = {
  pressure: 'Pa',
  flow: 'm3/s',
  rotation: 'Hz',
  level: 'm',
  fuel: 'm3',
  temperature: 'Cel',
  pulse: 'Pa',
  motion: 'm/s2',
};

export function packOf(site: string, device: string, samples: readonly Sample[]): string {
  const base = samples[0]!.timeMs;
  const records = samples.map(({ sensor, value, timeMs }, index) => ({
    ...(index === 0 ? { bn: `${site}:${device}:`, bt: base / 1_000, simulated: true } : {}),
    n: sensor.record,
    u: UNITS[sensor.quantity],
    v: Number(value.toPrecision(8)),
    ...(timeMs === base ? {} : { t: (timeMs - base) / 1_000 }),
  }));
  return JSON.stringify(records);
}

export function statusOf(online: boolean): string {
  return JSON.stringify({ online, simulated: true });
}

export const topics = {
  pack: (site: string, device: string): string => `wetdown/${site}/${device}/senml`,
  status: (site: string, device: string): string => `wetdown/${site}/${device}/status`,
  beat: (site: string): string => `wetdown/${site}/simulation`,
  order: (site: string): string => `wetdown/${site}/simulation/order`,
  answer: (site: string): string => `wetdown/${site}/simulation/answer`,
  truth: (site: string): string => `wetdown/${site}/simulation/truth`,
};
