/** What goes over the wire: packs after RFC 8428, marked as simulated, that the gateway's own reader takes back. */
import { describe, expect, it } from 'vitest';
import { readSenml } from '../../gateway/ingest/payloads/senml.ts';
import { Simulation } from '../../simulator/simulation.ts';
import { packOf, statusOf, topics } from '../../simulator/wire.ts';
import { scenarioNamed, siteLayout, START_MS } from '../support/drive.ts';

const layout = siteLayout('larch-cove');
const simulation = new Simulation(layout, { seed: 6, startMs: START_MS, scenario: scenarioNamed('running') });
const samples = simulation.second().filter(({ sensor }) => sensor.device === 'pump-box');
const pack = packOf(layout.site, 'pump-box', samples);
const records = JSON.parse(pack) as Record<string, unknown>[];

describe('a pack', () => {
  it('carries base name, base time and the mark in its first record only', () => {
    expect(records[0]).toMatchObject({ bn: 'larch-cove:pump-box:', bt: samples[0]!.timeMs / 1_000, simulated: true });
    expect(records.slice(1).every((record) => !('bn' in record) && !('bt' in record) && !('simulated' in record))).toBe(
      true,
    );
  });

  it('names each record as the layout does, with its SI unit', () => {
    const units = {
      discharge: 'Pa',
      suction: 'Pa',
      flow: 'm3/s',
      speed: 'Hz',
      level: 'm',
      fuel: 'm3',
      air: 'Cel',
    } as const;
    for (const { n, u } of records) expect(u).toBe(units[n as keyof typeof units]);
    expect(records.map(({ n }) => n)).toEqual(
      expect.arrayContaining(['discharge', 'suction', 'flow', 'speed', 'level']),
    );
  });

  it('is read back by the gateway without loss of value or time', () => {
    const read = readSenml(new TextEncoder().encode(pack));
    expect(read.refused).toEqual([]);
    read.records.forEach((record, index) => {
      expect(record.time).toEqual({ kind: 'absolute', atMs: samples[index]!.timeMs });
      expect(Math.abs(Number(record.value) - samples[index]!.value)).toBeLessThanOrEqual(
        1e-7 * Math.abs(samples[index]!.value),
      );
    });
  });
});

describe('status and topics', () => {
  it('say online or not, and simulated', () => {
    expect(JSON.parse(statusOf(true))).toEqual({ online: true, simulated: true });
    expect(JSON.parse(statusOf(false))).toEqual({ online: false, simulated: true });
  });

  it('lie below the site', () => {
    expect(topics.pack('larch-cove', 'end-a')).toBe('wetdown/larch-cove/end-a/senml');
    expect(topics.status('larch-cove', 'end-a')).toBe('wetdown/larch-cove/end-a/status');
    expect(topics.beat('larch-cove')).toBe('wetdown/larch-cove/simulation');
  });
});
