/**
 * A scenario file: how a run begins and what is done when.
 *
 * In: YAML text. Out: the scenario, or faults with their lines. `begins: dry` starts with empty hoses and a stopped
 * pump; `begins: running` with a full lay at `throttle` (share of rated speed). `telemetry: field`: packets get lost,
 * held up and wrongly dated (link-model.ts). `beat`: how strongly heads are felt (beats.ts). `timeline` rows: after,
 * do, what, at, size; `npm run simulator -- --help` lists every `what` with its place and size.
 */
import { LineCounter, parseDocument } from 'yaml';
import { parseQuantity } from '../config/units.ts';
import type { Deed } from './events.ts';
import type { Telemetry } from './link-model.ts';

export interface Scenario {
  readonly name: string;
  readonly begins: 'dry' | 'running';
  readonly throttle: number;
  /** Tidy unless told. */
  readonly telemetry?: Telemetry;
  /** How strongly impact heads beat, as a share of their pressure: unverified, see beats.ts. None unless told. */
  readonly beat?: number;
  readonly timeline: readonly Row[];
}

interface Row {
  readonly afterS: number;
  readonly deed: Deed;
  /** File, line and row, for what the site has not. */
  readonly where?: string;
}

export type ParsedScenario =
  { readonly ok: true; readonly scenario: Scenario } | { readonly ok: false; readonly faults: readonly string[] };

export function parseScenario(text: string, file: string): ParsedScenario {
  const lines = new LineCounter();
  const document = parseDocument(text, { lineCounter: lines });
  const faults = document.errors.map(
    (error) => `${file}, line ${error.linePos?.[0].line ?? 1}: ${error.message.split('\n')[0]}`,
  );
  if (faults.length > 0) return { ok: false, faults };
  const whole: unknown = document.toJS();
  if (typeof whole !== 'object' || whole === null)
    return { ok: false, faults: [`${file}, line 1: a scenario needs 'begins' and 'timeline'.`] };
  const lineOf = (path: (string | number)[]): number => {
    const node = document.getIn(path, true);
    return typeof node === 'object' && node !== null && 'range' in node && Array.isArray(node.range)
      ? lines.linePos(Number(node.range[0])).line
      : 1;
  };
  const fault = (path: (string | number)[], words: string): void => {
    faults.push(`${file}, line ${lineOf(path)}: ${path.join('.')}: ${words}`);
  };
  const begins = field(whole, 'begins');
  if (begins !== 'dry' && begins !== 'running') fault(['begins'], "write 'dry' or 'running'.");
  const throttle = field(whole, 'throttle') ?? 0.95;
  if (typeof throttle !== 'number' || !(throttle >= 0 && throttle <= 1.2))
    fault(['throttle'], 'a share of rated speed, 0 to 1.2.');
  const telemetry = field(whole, 'telemetry') ?? 'tidy';
  if (telemetry !== 'tidy' && telemetry !== 'field') fault(['telemetry'], "write 'tidy' or 'field'.");
  const beat = field(whole, 'beat') ?? 0;
  if (typeof beat !== 'number' || !(beat >= 0 && beat <= 0.1))
    fault(['beat'], 'a share of the pressure at the nozzle, 0 to 0.1.');
  const rows = field(whole, 'timeline') ?? [];
  if (!Array.isArray(rows)) fault(['timeline'], 'a list of rows with after, do and what.');
  const timeline: Row[] = [];
  (Array.isArray(rows) ? rows : []).forEach((row: unknown, index) => {
    const parsed = parseRow(row, (key, words) => fault(['timeline', index, key], words));
    if (parsed) timeline.push({ ...parsed, where: `${file}, line ${lineOf(['timeline', index])}: timeline.${index}` });
  });
  if (faults.length > 0) return { ok: false, faults };
  timeline.sort((a, b) => a.afterS - b.afterS);
  return {
    ok: true,
    scenario: {
      name: file.replace(/^.*\//, '').replace(/\.ya?ml$/, ''),
      begins: begins === 'running' ? 'running' : 'dry',
      throttle: Number(throttle),
      telemetry: telemetry === 'field' ? 'field' : 'tidy',
      beat: Number(beat),
      timeline,
    },
  };
}

function parseRow(row: unknown, fault: (key: string, words: string) => void): Row | null {
  const after = parseQuantity(String(field(row, 'after') ?? ''), 'time');
  const act = field(row, 'do');
  const what = field(row, 'what');
  const at = field(row, 'at');
  const size = field(row, 'size');
  if (!after.ok) fault('after', after.why);
  if (act !== 'start' && act !== 'repair') fault('do', "write 'start' or 'repair'.");
  if (typeof what !== 'string') fault('what', 'the name of what happens, such as head-off.');
  if (size !== undefined && typeof size !== 'number') fault('size', 'a number.');
  if (!after.ok || (act !== 'start' && act !== 'repair') || typeof what !== 'string') return null;
  return {
    afterS: after.value,
    deed: {
      do: act,
      what,
      ...(at === undefined ? {} : { at: String(at) }),
      ...(typeof size === 'number' ? { size } : {}),
    },
  };
}

function field(value: unknown, key: string): unknown {
  return typeof value === 'object' && value !== null && Object.hasOwn(value, key)
    ? (value as Readonly<Record<string, unknown>>)[key]
    : undefined;
}
