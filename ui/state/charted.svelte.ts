/** Which channels are drawn on the trend screen, remembered while the page lasts; null: the screen's first choice. */
import type { Layout } from '../../config/layout/layout.ts';

/** First choice: the pump's own pressure and flow, and line ends that stand out; else the first line end. */
export function usualChannels(layout: Layout): string[] {
  const pump = layout.sensors.filter((sensor) => sensor.mounting.kind === 'discharge' || sensor.quantity === 'flow');
  const ends = layout.sensors.filter((sensor) => sensor.line !== null);
  return [...pump, ...ends.slice(0, 2)].map((sensor) => sensor.id);
}

class Charted {
  channels = $state.raw<readonly string[] | null>(null);

  only(channel: string): void {
    this.channels = [channel];
  }

  set(channels: readonly string[]): void {
    this.channels = channels;
  }
}

export const charted = new Charted();
