/**
 * Long work in short slices, so that the gateway goes on answering; it can be watched and stopped between any two.
 *
 * In: a generator that yields how far it is. Out: true when it came to its end, false when it was stopped.
 */
export interface Slicing {
  readonly sliceMs: number;
  readonly stop?: AbortSignal;
  /** Told after each slice. */
  readonly reached: (at: number) => void;
}

export async function runInSlices(
  steps: Generator<number, void>,
  { sliceMs, stop, reached }: Slicing,
): Promise<boolean> {
  for (;;) {
    const untilMs = performance.now() + sliceMs;
    let step = steps.next();
    while (!step.done && performance.now() < untilMs) step = steps.next();
    if (step.done) return true;
    reached(step.value);
    if (stop?.aborted) {
      steps.return();
      return false;
    }
    await new Promise((done) => {
      setImmediate(done);
    });
  }
}
