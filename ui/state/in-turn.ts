/**
 * Long work in turn, a little in a task, so that a finger never waits for all of it: charts are drawn, and parts of a
 * screen put on the page.
 *
 * In: a key for each piece and how to do it. A piece that is asked for again before its turn is done once, in its
 * newest state.
 */

/** Judgement: a task that has taken so long takes no further piece. */
const TASK_MS = 4;
const waiting = new Map<object, () => void>();
let isDue = false;

export function inTurn(piece: object, work: () => void): void {
  waiting.set(piece, work);
  if (isDue) return;
  isDue = true;
  setTimeout(next);
}

/** It is gone from the screen. */
export function leaveTurn(piece: object): void {
  waiting.delete(piece);
}

function next(): void {
  const untilMs = performance.now() + TASK_MS;
  try {
    for (const [piece, work] of waiting) {
      waiting.delete(piece);
      work();
      if (performance.now() > untilMs) break;
    }
  } finally {
    isDue = waiting.size > 0;
    if (isDue) setTimeout(next);
  }
}
