/** The measured line in the first chart of a page: what share of the width it covers, and at which share it ends. */
import type { Page } from 'playwright-core';

export async function measuredLine(page: Page): Promise<{ covers: number; endsAt: number }> {
  return page.evaluate(() => {
    const canvas = document.querySelector<HTMLCanvasElement>('figure canvas')!;
    const ink = getComputedStyle(document.documentElement).getPropertyValue('--plot-measured').trim();
    const probe = document.createElement('canvas').getContext('2d')!;
    probe.fillStyle = ink;
    probe.fillRect(0, 0, 1, 1);
    const [red, green, blue] = probe.getImageData(0, 0, 1, 1).data;
    const { data } = canvas.getContext('2d')!.getImageData(0, 0, canvas.width, canvas.height);
    const columns = new Set<number>();
    for (let at = 0; at < data.length; at += 4)
      if (
        data[at + 3]! > 200 &&
        Math.abs(data[at]! - red!) + Math.abs(data[at + 1]! - green!) + Math.abs(data[at + 2]! - blue!) < 12
      )
        columns.add((at / 4) % canvas.width);
    return { covers: columns.size / canvas.width, endsAt: Math.max(0, ...columns) / canvas.width };
  });
}
