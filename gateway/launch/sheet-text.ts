/**
 * Text of a sheet for a terminal of 80 columns, or for paper: names, figures with their units, paragraphs, tables.
 *
 * In: words and SI values. Out: lines at most 78 wide unless a single name is longer, figures in the site's own units.
 */
import type { UnitSystem } from '../../config/layout/layout.ts';
import { show } from '../../config/units.ts';
import type { Shown } from '../../config/units.ts';

export const WIDTH = 78;

export function named({ id, label }: { readonly id: string; readonly label: string }): string {
  return label === id ? id : `${id} ${label}`;
}

export function bare(value: number, what: Shown, units: UnitSystem): string {
  return show(value, what, units).text;
}

export function full(value: number, what: Shown, units: UnitSystem): string {
  const { text, unit } = show(value, what, units);
  return `${text} ${unit}`;
}

export function seconds(value: number | null): string {
  return value === null ? '—' : `${Math.ceil(value)} s`;
}

export function heading(words: string): string[] {
  return ['', words, '-'.repeat(words.length)];
}

/**
 * First column to the left, others to the right; a negative width: two blanks, then to the left. A name too long for
 * its column has a line of its own.
 */
export function table(
  widths: readonly number[],
  header: readonly string[],
  rows: readonly (readonly string[])[],
): string[] {
  const cell = (text: string, i: number): string => {
    const width = widths[i] ?? 0;
    if (width < 0) return `  ${text}`;
    return i === 0 ? text.padEnd(width) : text.padStart(width);
  };
  return [header, ...rows].flatMap((row) => {
    const [name = '', ...rest] = row;
    const long = name.length > (widths[0] ?? 0);
    const line = [long ? '' : name, ...rest].map(cell).join('').trimEnd();
    return long ? [...wrapped(name), line] : [line];
  });
}

export function wrapped(words: string, hanging = '', first = ''): string[] {
  const lines: string[] = [];
  let line = first;
  for (const word of words.split(/\s+/)) {
    const longer = line.trim() === '' ? line + word : `${line} ${word}`;
    if (longer.length > WIDTH && line.trim() !== '') {
      lines.push(line);
      line = hanging + word;
    } else line = longer;
  }
  return [...lines, line];
}
