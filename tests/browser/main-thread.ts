/** What the browser's main threads do while a page stands: tasks and work, by its own trace. */
import type { CDPSession } from 'playwright-core';

/** Seconds that the main thread has worked; `Performance.enable` comes first. */
export async function busyS(devtools: CDPSession): Promise<number> {
  const { metrics } = await devtools.send('Performance.getMetrics');
  return metrics.find(({ name }) => name === 'TaskDuration')!.value;
}

/** How long each task took, ms of the thread's own time, so that what else the machine does is not in it. */
export async function tasksMs(devtools: CDPSession, during: () => Promise<void>): Promise<number[]> {
  const tasks: number[] = [];
  const collect = ({ value }: { value: object[] }): void =>
    value.forEach((event) => {
      const { name, tdur, dur } = event as { name?: string; tdur?: number; dur?: number };
      if (name === 'ThreadControllerImpl::RunTask') tasks.push((tdur ?? dur ?? 0) / 1_000);
    });
  devtools.on('Tracing.dataCollected', collect);
  await devtools.send('Tracing.start', {
    transferMode: 'ReportEvents',
    traceConfig: { includedCategories: ['toplevel'], excludedCategories: ['*'] },
  });
  await during();
  const complete = new Promise((done) => devtools.once('Tracing.tracingComplete', done));
  await devtools.send('Tracing.end');
  await complete;
  devtools.off('Tracing.dataCollected', collect);
  return tasks;
}
