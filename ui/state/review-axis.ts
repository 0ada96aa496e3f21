/**
 * Plain drawing arithmetic of the time line: where ticks of time go, and a path that breaks where nothing was measured.
 */
const STEPS_MS = [
  1_000, 5_000, 15_000, 60_000, 300_000, 900_000, 1_800_000, 3_600_000, 7_200_000, 14_400_000, 43_200_000, 86_400_000,
];

/** At most `most` round moments within the span, rising. */
export function timeTicks(fromMs: number, toMs: number, most: number): number[] {
  const stepMs =
    STEPS_MS.find((step) => (toMs - fromMs) / step <= most) ??
    86_400_000 * Math.ceil((toMs - fromMs) / 86_400_000 / most);
  const first = Math.ceil(fromMs / stepMs) * stepMs;
  return Array.from(
    { length: Math.max(0, Math.floor((toMs - first) / stepMs) + 1) },
    (_, index) => first + index * stepMs,
  );
}

/** An SVG path; a null is a gap and is never joined over. */
export function columnPath(
  atMs: readonly number[],
  column: readonly (number | null)[],
  x: (atMs: number) => number,
  y: (value: number) => number,
): string {
  let pen = 'M';
  return column
    .map((value, row) => {
      const here = pen;
      pen = value === null ? 'M' : 'L';
      return value === null ? '' : `${here}${x(atMs[row]!).toFixed(1)} ${y(value).toFixed(1)}`;
    })
    .join('');
}
