/**
 * The core on a lay that the plant cannot play (hydrant, governed pump, booster, relief valve, percolating hose): on
 * readings made from its own model it works, expects what it is told, and flags nothing. That the model is right is for
 * tests/published to say; here nothing is proved but that the core takes such a lay.
 */
import { expect, it } from 'vitest';
import { buildNetwork } from '../../gateway/core/hydraulics/network.ts';
import { solveRigged } from '../../gateway/core/hydraulics/governor.ts';
import { asRigged } from '../../gateway/core/hydraulics/settings.ts';
import { createWatch } from '../../gateway/core/watch.ts';
import { SeededRandom } from '../../simulator/seeded-random.ts';
import { siteLayout, START_MS } from '../support/drive.ts';

it('works on Mill Lane, and finds its readings as it expects them', () => {
  const layout = siteLayout('mill-lane');
  const net = buildNetwork(layout);
  const { solution, speed } = solveRigged(net, asRigged(net));
  const at = (place: string): number => solution.pressurePa[net.nodeOfPlace.get(place)!]!;
  const value: Record<string, number> = {
    discharge: at('p0'),
    suction: solution.suctionPa[0]!,
    flow: solution.pumpFlowM3s[0]!,
    speed: speed[0]! * layout.pumps[0]!.kit.ratedRotationHz,
    'hill-speed': speed[1]! * layout.pumps[1]!.kit.ratedRotationHz,
    'end-h-pressure': at('h3'),
    'end-r-pressure': at('r2'),
  };
  const watch = createWatch(layout, { simulated: true });
  const dice = SeededRandom.named(9_841, 'mill lane');
  let picture = watch.advance(START_MS);
  for (let second = 0; second < 300; second += 1) {
    const atMs = START_MS + second * 1_000;
    for (const sensor of layout.sensors) {
      if (second % sensor.intervalS === 0)
        watch.take({
          channel: sensor.id,
          value: value[sensor.id]! + sensor.noiseSd * dice.normal(),
          atMs,
          receivedMs: atMs,
          deviceMs: atMs,
          grade: 'good',
        });
    }
    picture = watch.advance(atMs + 900) ?? picture;
  }
  expect(picture!.advice).toEqual({ working: true });
  expect(picture!.alarms.map(({ verdict }) => verdict.headline)).toEqual([]);
  expect(picture!.pumps.map(({ state }) => state)).toEqual(['running', 'running']);
  for (const channel of picture!.channels.filter(({ expected }) => expected !== null)) {
    expect(channel.value! > channel.low! && channel.value! < channel.high!, channel.channel).toBe(true);
  }
  expect(picture!.channels.filter(({ expected }) => expected !== null).map(({ channel }) => channel)).toEqual(
    expect.arrayContaining(['flow', 'end-h-pressure', 'end-r-pressure']),
  );
});
