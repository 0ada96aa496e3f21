/**
 * The head that falls short first as a tank empties: told ahead by the core, then watched in the simulator's plant,
 * whose physics is its own. The tank is tall and stands low, so that its level matters, and the pump is throttled until
 * little is spare.
 */
import { describe, expect, it } from 'vitest';
import type { Layout } from '../../config/layout/layout.ts';
import { Drive } from '../support/drive.ts';
import { LayoutBuilder } from '../support/layout-builder.ts';

const TOP_M = 44;
const GRAVITY_PA_PER_M = 9_790;

function tower(highestM: number): Layout {
  const builder = new LayoutBuilder()
    .tank('tower', { shape: { kind: 'framed-tank', lengthM: 0.9, widthM: 0.9, depthM: 6 }, elevationM: -6.5 })
    .place('p0', 0)
    .place('p1', TOP_M)
    .place('a0', TOP_M)
    .place('a1', TOP_M)
    .pump('pump', 'tower', 'p0', { speed: 0.8 })
    .hose('climb', 'p0', 'p1', { lengthM: 40 })
    .gate('thief', 'p1', 'a0', { line: 'line-a' })
    .hose('a-hose', 'a0', 'a1', { line: 'line-a', lengthM: 20 });
  for (const name of ['one', 'two', 'three', 'four', 'five', 'six', 'seven'])
    builder.head(name, name < 'p' ? 'a0' : 'a1', { line: 'line-a', riseM: 2 });
  const layout = builder
    .head('high', 'a1', { line: 'line-a', riseM: highestM })
    .pumpBox('pump', 'tower')
    .lineEnd('end-a', 'a1', 'line-a')
    .build();
  return {
    ...layout,
    sensors: layout.sensors.map((sensor) => (sensor.quantity === 'level' ? { ...sensor, max: 7 } : sensor)),
  };
}

function walked(highestM: number): Drive {
  const drive = new Drive(tower(highestM), { seed: 9_700 });
  drive.carry({ do: 'start', what: 'throttle', at: 'pump', size: 0.8 });
  drive.run(120);
  expect(drive.baseline()).toBeNull();
  drive.run(120);
  return drive;
}

/** In the plant: pressure at the nozzle of the highest head over what turns it, Pa. */
function spare({ layout, simulation }: Drive): number {
  const head = layout.heads.find(({ id }) => id === 'high')!;
  const place = layout.places.findIndex(({ id }) => id === head.at);
  return (
    simulation.plant.pressurePa[place]! -
    GRAVITY_PA_PER_M * (head.elevationM - layout.places[place]!.elevationM) -
    head.kit.turnPaMin
  );
}

describe('the first head to fall short', () => {
  it('is named ahead, within the range told', () => {
    const drive = walked(11);
    expect(spare(drive)).toBeGreaterThan(0);
    const told = drive.picture.supplies[0]!.firstShort!;
    expect(told.head).toBe('high');
    const emptyS = drive.picture.supplies[0]!.emptyInS!.best;
    expect(told.inS.best).toBeLessThan(emptyS);
    const tookS = drive.until(4 * emptyS, () => spare(drive) < 0);
    expect(tookS).toBeGreaterThan(told.inS.low);
    expect(tookS).toBeLessThan(told.inS.high);
    const isShort = (): boolean => drive.picture.heads.find(({ head }) => head === 'high')!.state === 'short';
    expect(drive.until(600, isShort), 'what is under it has no deadline any more').not.toBeNull();
    for (let second = 0; second < 15; second += 1)
      expect(drive.second().supplies[0]!.firstShort?.head).not.toBe('high');
  });

  it('is nobody where enough is spare until the suction runs dry', () => {
    const drive = walked(2);
    expect(drive.picture.supplies[0]!.emptyInS).not.toBeNull();
    expect(drive.picture.supplies[0]!.firstShort).toBeNull();
  });
});
