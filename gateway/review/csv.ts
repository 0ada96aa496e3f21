/**
 * Tables as CSV (RFC 4180: comma, quotes doubled, CRLF) that no spreadsheet runs as a formula.
 *
 * In: header and rows of texts, numbers and nulls. Out: text. A text that begins with = + - @, a tab, a carriage return
 * or a line feed, or the full-width forms of those signs, gets an apostrophe before it (OWASP, 'CSV Injection'); every
 * text is in quotes. Numbers stay numbers, a minus sign included; null is an empty cell.
 */
export type Cell = string | number | boolean | null;

const FORMULA = /^[=+\-@\t\r\n＝＋－＠]/u;

function csvCell(cell: Cell): string {
  if (cell === null) return '';
  if (typeof cell === 'number') return Number.isFinite(cell) ? String(cell) : '';
  const text = typeof cell === 'boolean' ? (cell ? 'yes' : 'no') : cell;
  return `"${(FORMULA.test(text) ? `'${text}` : text).replaceAll('"', '""')}"`;
}

export function csvLine(cells: readonly Cell[]): string {
  return `${cells.map(csvCell).join(',')}\r\n`;
}

export interface Table {
  /** File name without ending. */
  readonly name: string;
  readonly header: readonly string[];
  readonly rows: readonly (readonly Cell[])[];
}

export function csvText({ header, rows }: Pick<Table, 'header' | 'rows'>): string {
  return csvLine(header) + rows.map(csvLine).join('');
}
