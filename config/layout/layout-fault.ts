/**
 * What is wrong with a layout file, each fault with its place and what would be right.
 *
 * In: the file's name and, while reading, the line on which each field stands. Out: faults in the order of the file, as
 * data (a layout that cannot be used is expected trouble, never an exception) and as text for a terminal. Fields are
 * dotted paths from the top of the file: `heads.a1.feeder.length`.
 */
export type FaultCode =
  | 'layout/empty'
  | 'layout/too-large'
  | 'layout/not-yaml'
  | 'layout/wrong-shape'
  | 'layout/bad-file-name'
  | 'layout/bad-name'
  | 'layout/duplicate-name'
  | 'layout/unknown-field'
  | 'layout/missing-field'
  | 'layout/missing-unit'
  | 'layout/unknown-unit'
  | 'layout/ambiguous-gallon'
  | 'layout/wrong-dimension'
  | 'layout/bad-quantity'
  | 'layout/bad-value'
  | 'layout/out-of-range'
  | 'layout/unknown-reference'
  | 'layout/unknown-kit'
  | 'layout/not-rising'
  | 'layout/not-falling'
  | 'layout/hose-to-itself'
  | 'layout/no-water-reaches'
  | 'layout/head-off-its-line'
  | 'layout/line-without-head'
  | 'layout/sensor-misplaced';

export interface LayoutFault {
  readonly code: FaultCode;
  readonly file: string;
  /** Counted from 1. */
  readonly line: number;
  readonly field: string;
  readonly problem: string;
  readonly remedy: string;
}

export class FaultBook {
  readonly file: string;
  readonly #faults: LayoutFault[] = [];
  readonly #lines = new Map<string, number>();

  constructor(file: string) {
    this.file = file;
  }

  /** Remembers where a field stands, so that a check made later can still point at it. */
  place(field: string, line: number): void {
    this.#lines.set(field, line);
  }

  add(code: FaultCode, field: string, problem: string, remedy: string): void {
    this.addAt(this.#lineOf(field), code, field, problem, remedy);
  }

  addAt(line: number, code: FaultCode, field: string, problem: string, remedy: string): void {
    this.#faults.push({ code, file: this.file, line, field, problem, remedy });
  }

  /** Whether a fault stands at this field or within it: then what was read from it is a stand-in. */
  isFaulty(field: string): boolean {
    return this.#faults.some((fault) => fault.field === field || fault.field.startsWith(`${field}.`));
  }

  faults(): readonly LayoutFault[] {
    return this.#faults.toSorted((a, b) => a.line - b.line);
  }

  /** A field that is missing stands where the thing stands that lacks it. */
  #lineOf(field: string): number {
    let path = field;
    while (path !== '') {
      const line = this.#lines.get(path);
      if (line !== undefined) return line;
      path = path.slice(0, Math.max(0, path.lastIndexOf('.')));
    }
    return 1;
  }
}

export function formatFault(fault: LayoutFault): string {
  const field = fault.field === '' ? '' : ` ${fault.field}:`;
  return (
    `LAYOUT FAULT ${fault.file}, line ${fault.line}:${field} ${fault.problem}\n    ${fault.remedy} ` + `[${fault.code}]`
  );
}
