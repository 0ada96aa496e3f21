/**
 * Where people's units meet the house's SI: text such as '100 ft' in, '52 psi' out.
 *
 * `parseQuantity` turns a number with its unit into SI (m, Pa, m3/s, m3, 1/s for rotation, s, ratio; degC and degrees
 * of arc) or says what would have been right; `show` writes an SI value in the units of a crew. Factors: NIST SP 811
 * (2008), Appendix B.8, taken unrounded where B.8 rounds (psi from lbf and in; US gallon = 231 in3; Imperial gallon =
 * 4.54609 L). Limit: no thousands separators and no decimal comma: both are refused, because a wrong guess is a factor
 * of a thousand.
 */
import type { Quantity, UnitSystem } from './layout/layout.ts';
import { suggestion } from './spelling.ts';

export type Dimension =
  | 'length'
  | 'pressure'
  | 'flow'
  | 'volume'
  | 'rotation'
  | 'acceleration'
  | 'time'
  | 'ratio'
  | 'temperature'
  | 'temperature difference'
  | 'angle';

type RefusedQuantity = 'no-number' | 'no-unit' | 'unknown-unit' | 'ambiguous-gallon' | 'wrong-dimension';

export type ParsedQuantity =
  | { readonly ok: true; readonly value: number }
  | { readonly ok: false; readonly reason: RefusedQuantity; readonly why: string };

interface Unit {
  readonly factor: number;
  /** SI value of zero in this unit; only thermometers need it. */
  readonly zero?: number;
}

/** m, exact (international foot and inch, 1959). */
export const M_PER_FT = 0.3048;
const M_PER_INCH = 0.0254;
/** m/s2. Standard acceleration of free fall, exact by definition (3rd CGPM, 1901). */
export const GRAVITY_MPS2 = 9.80665;
/** Pa per psi: 0.45359237 kg x 9.80665 m/s2 over one square inch, exact (NIST SP 811, App. B.8). */
export const PA_PER_PSI = (0.45359237 * GRAVITY_MPS2) / M_PER_INCH ** 2;
const LITRE_M3 = 0.001;
const US_GALLON_M3 = 231 * M_PER_INCH ** 3;
const IMPERIAL_GALLON_M3 = 4.54609e-3;
const MINUTE_S = 60;
const HOUR_S = 3600;
/** m3/s per US gal/min: 231 cubic inches a minute, exact (NIST SP 811, App. B.8). */
export const M3S_PER_USGPM = US_GALLON_M3 / MINUTE_S;

const UNITS: Readonly<Record<Dimension, Readonly<Record<string, Unit>>>> = {
  length: {
    m: { factor: 1 },
    cm: { factor: 0.01 },
    mm: { factor: 0.001 },
    ft: { factor: M_PER_FT },
    in: { factor: M_PER_INCH },
  },
  pressure: {
    kPa: { factor: 1000 },
    psi: { factor: PA_PER_PSI },
    bar: { factor: 1e5 },
    MPa: { factor: 1e6 },
    Pa: { factor: 1 },
  },
  flow: {
    'L/min': { factor: LITRE_M3 / MINUTE_S },
    USgpm: { factor: M3S_PER_USGPM },
    Igpm: { factor: IMPERIAL_GALLON_M3 / MINUTE_S },
    'L/s': { factor: LITRE_M3 },
    'm3/h': { factor: 1 / HOUR_S },
    'm3/s': { factor: 1 },
    'L/h': { factor: LITRE_M3 / HOUR_S },
    'USgal/h': { factor: US_GALLON_M3 / HOUR_S },
    'Igal/h': { factor: IMPERIAL_GALLON_M3 / HOUR_S },
  },
  volume: {
    L: { factor: LITRE_M3 },
    m3: { factor: 1 },
    USgal: { factor: US_GALLON_M3 },
    Igal: { factor: IMPERIAL_GALLON_M3 },
  },
  rotation: { rpm: { factor: 1 / MINUTE_S }, Hz: { factor: 1 } },
  acceleration: { 'm/s2': { factor: 1 } },
  time: { s: { factor: 1 }, min: { factor: MINUTE_S }, h: { factor: HOUR_S } },
  ratio: { '%': { factor: 0.01 } },
  temperature: { C: { factor: 1 }, F: { factor: 5 / 9, zero: -160 / 9 } },
  'temperature difference': { C: { factor: 1 }, F: { factor: 5 / 9 } },
  angle: { deg: { factor: 1 }, rad: { factor: 180 / Math.PI } },
};

const DIMENSIONS = Object.keys(UNITS) as Dimension[];

/** The spellings a screen shows are taken back as well: 'US gpm', 'Imp gal', '°C', 'm³/h'. */
const SPELLINGS: Readonly<Record<string, string>> = { Impgpm: 'Igpm', Impgal: 'Igal', 'Impgal/h': 'Igal/h' };

export function unitsOf(dimension: Dimension): readonly string[] {
  return Object.keys(UNITS[dimension]);
}

/** What a symbol alone says, where the number stands elsewhere; the first dimension that has it. */
export function unitNamed(
  symbol: string,
): { readonly dimension: Dimension; readonly factor: number; readonly zero: number } | null {
  const dimension = DIMENSIONS.find((candidate) => Object.hasOwn(UNITS[candidate], symbol));
  if (dimension === undefined) return null;
  const { factor, zero = 0 } = UNITS[dimension][symbol]!;
  return { dimension, factor, zero };
}

export function parseQuantity(text: string, dimension: Dimension): ParsedQuantity {
  const example = `such as '${EXAMPLES[dimension]}'`;
  const trimmed = text.trim();
  if (trimmed === '') return refused('no-number', `a ${dimension} with its unit is needed, ${example}`);
  const split = /^[+-]?\d[\d.]*(?:(,)|\s+\d[\d.]*(?:\s|$))/.exec(trimmed);
  if (split) {
    const what = split[1] === undefined ? 'blank' : 'comma';
    const why =
      `'${trimmed}' has a ${what} in the number: write a decimal point and no thousands separator, ` + `${example}`;
    return refused('no-number', why);
  }
  const number = readNumber(trimmed);
  if (number === null)
    return refused('no-number', `'${trimmed}' does not start with a number: write a ${dimension} ${example}`);
  const symbol = readSymbol(number.rest);
  const unit = Object.hasOwn(UNITS[dimension], symbol) ? UNITS[dimension][symbol] : undefined;
  if (unit === undefined) return refuseUnit(symbol, dimension, number.text);
  if (number.fraction && symbol !== 'in') {
    return refused('no-number', `fractions are for inches only: write '${trimmed}' as a decimal number`);
  }
  const value = number.value * unit.factor + (unit.zero ?? 0);
  if (!Number.isFinite(value)) return refused('no-number', `'${trimmed}' is too large a number for a ${dimension}`);
  return { ok: true, value };
}

const EXAMPLES: Readonly<Record<Dimension, string>> = {
  length: '30 m',
  pressure: '345 kPa',
  flow: '48 L/min',
  volume: '10000 L',
  rotation: '4200 rpm',
  acceleration: '0.5 m/s2',
  time: '10 s',
  ratio: '90 %',
  temperature: '21 C',
  'temperature difference': '0.5 C',
  angle: '180 deg',
};

function refused(reason: RefusedQuantity, why: string): ParsedQuantity {
  return { ok: false, reason, why };
}

function readSymbol(rest: string): string {
  const symbol = rest
    .trim()
    .replace(/^(US|Imp)\s+/, '$1')
    .replaceAll(/\s*\/\s*/g, '/')
    .replace('°', '')
    .replace('³', '3')
    .replace('²', '2');
  return Object.hasOwn(SPELLINGS, symbol) ? (SPELLINGS[symbol] ?? symbol) : symbol;
}

function readNumber(text: string): { value: number; text: string; rest: string; fraction: boolean } | null {
  const fraction = /^(?:(\d+)\s+)?(\d+)\/(\d+)\s*(.*)$/s.exec(text);
  if (fraction) {
    const [, whole, top, bottom, rest] = fraction;
    if (Number(bottom) === 0) return null;
    const value = Number(whole ?? 0) + Number(top) / Number(bottom);
    return { value, text: text.slice(0, text.length - (rest ?? '').length).trim(), rest: rest ?? '', fraction: true };
  }
  const plain = /^([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(.*)$/s.exec(text);
  if (!plain) return null;
  return { value: Number(plain[1]), text: plain[1] ?? '', rest: plain[2] ?? '', fraction: false };
}

function refuseUnit(symbol: string, dimension: Dimension, number: string): ParsedQuantity {
  const known = unitsOf(dimension);
  const allowed = `known for a ${dimension}: ${known.join(', ')}`;
  if (symbol === '') return refused('no-unit', `'${number}' has no unit: ${allowed}`);
  if (/^(gpm|gph|gal|gals|gallons?)(\/(h|min))?$/i.test(symbol) && (dimension === 'flow' || dimension === 'volume')) {
    const rest = dimension === 'volume' ? 'gal' : /h$/i.test(symbol) ? 'gal/h' : 'gpm';
    const choice = `write '${number} US${rest}' or '${number} I${rest}'`;
    return refused('ambiguous-gallon', `'${symbol}' could be US or Imperial gallons, which differ by 20 %: ${choice}`);
  }
  const other = DIMENSIONS.find((candidate) => Object.hasOwn(UNITS[candidate], symbol));
  if (other !== undefined) {
    return refused('wrong-dimension', `'${symbol}' is a unit of ${other}, and a ${dimension} is needed; ${allowed}`);
  }
  return refused('unknown-unit', `'${symbol}' is not a known unit of ${dimension}: ${suggestion(symbol, known)}`);
}

export type Shown = 'pressure' | 'flow' | 'volume' | 'length' | 'rotation' | 'temperature' | 'acceleration';

/** In which dimension what a sensor measures is written and shown. */
export const SHOWN_AS: Readonly<Record<Quantity, Shown>> = {
  pressure: 'pressure',
  flow: 'flow',
  rotation: 'rotation',
  level: 'length',
  fuel: 'volume',
  temperature: 'temperature',
  pulse: 'pressure',
  motion: 'acceleration',
};

interface Scale {
  readonly unit: string;
  readonly factor: number;
  readonly zero?: number;
  /** Decimals below ten and from ten up: about what a crew's own gauge resolves. */
  readonly decimals: readonly [number, number];
}

const KILOPASCAL: Scale = { unit: 'kPa', factor: 1000, decimals: [0, 0] };
const POUND: Scale = { unit: 'psi', factor: PA_PER_PSI, decimals: [1, 0] };
const METRE: Scale = { unit: 'm', factor: 1, decimals: [2, 1] };
const FOOT: Scale = { unit: 'ft', factor: M_PER_FT, decimals: [1, 0] };
const REVOLUTIONS: Scale = { unit: 'rpm', factor: 1 / MINUTE_S, decimals: [0, 0] };
const SHAKING: Scale = { unit: 'm/s²', factor: 1, decimals: [2, 1] };
const CELSIUS: Scale = { unit: '°C', factor: 1, decimals: [0, 0] };

const SCALES: Readonly<Record<UnitSystem, Readonly<Record<Shown, Scale>>>> = {
  metric: {
    pressure: KILOPASCAL,
    flow: { unit: 'L/min', factor: LITRE_M3 / MINUTE_S, decimals: [1, 0] },
    volume: { unit: 'L', factor: LITRE_M3, decimals: [1, 0] },
    length: METRE,
    rotation: REVOLUTIONS,
    acceleration: SHAKING,
    temperature: CELSIUS,
  },
  us: {
    pressure: POUND,
    flow: { unit: 'US gpm', factor: M3S_PER_USGPM, decimals: [2, 1] },
    volume: { unit: 'US gal', factor: US_GALLON_M3, decimals: [1, 0] },
    length: FOOT,
    rotation: REVOLUTIONS,
    acceleration: SHAKING,
    temperature: { unit: '°F', factor: 5 / 9, zero: -160 / 9, decimals: [0, 0] },
  },
  imperial: {
    pressure: POUND,
    flow: { unit: 'Imp gpm', factor: IMPERIAL_GALLON_M3 / MINUTE_S, decimals: [2, 1] },
    volume: { unit: 'Imp gal', factor: IMPERIAL_GALLON_M3, decimals: [1, 0] },
    length: FOOT,
    rotation: REVOLUTIONS,
    acceleration: SHAKING,
    temperature: CELSIUS,
  },
};

/** An SI value as a crew reads it; null and anything that is not a number show as a dash, never as zero. */
export function show(
  value: number | null,
  what: Shown,
  system: UnitSystem,
): { readonly text: string; readonly unit: string } {
  const scale = SCALES[system][what];
  if (value === null || !Number.isFinite(value)) return { text: '—', unit: scale.unit };
  const shown = (value - (scale.zero ?? 0)) / scale.factor;
  const [fine, coarse] = scale.decimals;
  const finely = shown.toFixed(fine);
  const text = Math.abs(Number(finely)) < 10 ? finely : shown.toFixed(coarse);
  return { text: Number(text) === 0 ? text.replace('-', '') : text, unit: scale.unit };
}
