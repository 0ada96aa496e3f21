/**
 * Charts are drawn in turn, a few in a task, so that a finger never waits for all of them.
 *
 * In: a key for each chart and how to draw it. A chart that is asked for again before its turn is drawn once, in its newest state.
 */

/** Judgement: a task that has taken so long takes no further chart. */
const TASK_MS = 4;
const waiting = new Map<object, () => void>();
let isDue = false;

export function drawInTurn(chart: object, draw: () => void): void {
  waiting.set(chart, draw);
  if (isDue) return;
  isDue = true;
  setTimeout(next);
}

/** It is gone from the screen. */
export function leaveTurn(chart: object): void {
  waiting.delete(chart);
}

function next(): void {
  const untilMs = performance.now() + TASK_MS;
  for (const [chart, draw] of waiting) {
    waiting.delete(chart);
    draw();
    if (performance.now() > untilMs) break;
  }
  isDue = waiting.size > 0;
  if (isDue) setTimeout(next);
}
