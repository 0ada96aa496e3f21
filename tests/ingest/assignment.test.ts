/**
 * A device from the tray is given a place: its readings are that place's, the one before is refused by name, and it can
 * be given back.
 */
import { beforeEach, describe, expect, it } from 'vitest';
import type { Entry } from '../../config/wire/entry.ts';
import { Intake, type Taken } from '../../gateway/ingest/intake.ts';
import { demoSite } from '../support/demo-site.ts';

const NOW = 1_790_000_000_000;
const { layout } = demoSite();
let intake = new Intake(layout);
beforeEach(() => {
  intake = new Intake(layout);
});

function send(device: string, record: string, value: number, options: { unit?: string; timeS?: number } = {}): Taken {
  const pack = [
    { n: record, u: options.unit ?? 'kPa', v: value, ...(options.timeS === undefined ? {} : { t: options.timeS }) },
  ];
  return intake.take(
    {
      topic: `wetdown/larch-cove/${device}/senml`,
      payload: Buffer.from(JSON.stringify(pack)),
      retained: false,
      receivedMs: NOW,
    },
    1,
  );
}

function assign(device: string, record: string, sensor: string): string | null {
  const entry: Entry = { kind: 'assign', by: 'AB', device, record, sensor };
  const objection = intake.objection(entry, null);
  if (objection === null) intake.heed(entry, NOW);
  return objection;
}

describe('an assignment', () => {
  it('gives the record a place at once, and refuses the one that was there by name', () => {
    send('end-a', 'pressure', 400);
    expect(send('spare', 'p1', 401).verdict).toBe('unknown-device');
    expect(assign('spare', 'p1', 'end-a-pressure')).toBeNull();
    expect(send('spare', 'p1', 402)).toMatchObject({
      verdict: 'readings',
      readings: [{ channel: 'end-a-pressure', value: 402_000, live: true }],
    });
    expect(send('end-a', 'pressure', 0)).toMatchObject({ verdict: 'ingest/replaced', readings: [] });
    expect(intake.rejected[0]?.detail).toContain('pressure of end-a: spare measures there now');
    expect(intake.assigned).toEqual([{ sensor: 'end-a-pressure', device: 'spare', record: 'p1', by: 'AB', atMs: NOW }]);
    expect(intake.devicesAt(NOW).find(({ device }) => device === 'spare')).toMatchObject({ packets: 1, lastMs: NOW });
    expect(intake.unknownDevices.map(({ device, record }) => [device, record])).toEqual([['end-a', 'pressure']]);
  });

  it('can be taken back: the old device lies in the tray for that', () => {
    send('spare', 'p1', 401);
    assign('spare', 'p1', 'end-a-pressure');
    send('end-a', 'pressure', 0);
    expect(assign('end-a', 'pressure', 'end-a-pressure')).toBeNull();
    expect(send('end-a', 'pressure', 7).readings).toHaveLength(1);
    expect(send('spare', 'p1', 7).verdict).toBe('ingest/replaced');
    expect(intake.assigned).toMatchObject([{ sensor: 'end-a-pressure', device: 'end-a' }]);
  });

  it('leaves other records of both devices where they are', () => {
    send('pump-box', 'spare-input', 3, { unit: 'l/s' });
    expect(assign('pump-box', 'spare-input', 'flow')).toBeNull();
    expect(send('pump-box', 'flow', 1, { unit: 'l/s' }).verdict).toBe('ingest/replaced');
    expect(send('pump-box', 'spare-input', 4, { unit: 'l/s' }).readings).toMatchObject([
      { channel: 'flow', value: 0.004 },
    ]);
    expect(send('pump-box', 'discharge', 800).readings).toMatchObject([{ channel: 'discharge' }]);
  });

  it('does not hold the clock of the new device against the old one', () => {
    send('end-a', 'pressure', 400, { timeS: NOW / 1000 });
    send('spare', 'p1', 401);
    assign('spare', 'p1', 'end-a-pressure');
    expect(send('spare', 'p1', 402, { timeS: NOW / 1000 - 300 }).readings[0]).toMatchObject({
      live: true,
      atMs: NOW - 300_000,
    });
  });

  it('reads what other payloads of the house said of a battery as before, for the new device too', () => {
    send('spare', 'p1', 401);
    assign('spare', 'p1', 'end-a-pressure');
    send('spare', 'battery', 3.6, { unit: 'V' });
    expect(intake.devicesAt(NOW).find(({ device }) => device === 'spare')?.battery).toEqual({ volts: 3.6 });
  });

  it.each([
    ['spare', 'p1', 'end-z-pressure', /no sensor 'end-z-pressure'/],
    ['spare', 'p1', '__proto__', /no sensor '__proto__'/],
    ['end-b', 'pressure', 'end-a-pressure', /measures at 'end-b-pressure' already/],
    ['nobody', 'p1', 'end-a-pressure', /has not been heard lately/],
    ['spare', 'p2', 'end-a-pressure', /has not been heard lately/],
    ['spare', 'p1', 'flow', /does not measure flow: its unit is 'kPa'/],
  ])('of %s / %s to %s is refused with why', (device, record, sensor, why) => {
    send('spare', 'p1', 401);
    expect(assign(device, record, sensor)).toMatch(why);
    expect([intake.assigned, send('end-a', 'pressure', 1).verdict]).toEqual([[], 'readings']);
  });

  it('twice of the same record is refused', () => {
    send('spare', 'p1', 401);
    assign('spare', 'p1', 'end-a-pressure');
    expect(assign('spare', 'p1', 'end-b-pressure')).toMatch(/measures at 'end-a-pressure' already/);
  });
});
