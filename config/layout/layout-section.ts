/**
 * Reads one map of a layout file field by field, and notes everything that is wrong with it.
 *
 * In: a YAML node and its dotted path. Out: SI values. After a fault a stand-in (NaN, '') is returned so that reading
 * goes on and finds the next fault; the parser drops the layout if one fault was noted, so placeholders never leave it.
 */
import { isAlias, isMap, isPair, isScalar, isSeq, type LineCounter, type Node } from 'yaml';
import type { FaultBook, FaultCode } from './layout-fault.ts';
import { suggestion } from '../spelling.ts';
import { parseQuantity, type Dimension } from '../units.ts';

export interface Bounds {
  readonly min?: number;
  readonly max?: number;
  /** The minimum itself is not allowed. */
  readonly above?: number;
}

export const POSITIVE: Bounds = { above: 0 };
export const NOT_NEGATIVE: Bounds = { min: 0 };
/** The longest that a refill may take, s. */
export const DAY_S = 86_400;

/** The file as parsed, with what is needed to point into it. */
export interface OpenFile {
  /** What `*name` stands for: the node marked `&name`. */
  readonly anchors: ReadonlyMap<string, Node>;
  readonly lines: LineCounter;
  readonly book: FaultBook;
}

export class Section {
  readonly file: OpenFile;
  readonly field: string;
  /** False when the node was no map: one fault says so, and its fields are not reported as missing on top. */
  readonly readable: boolean;
  readonly #values = new Map<string, Node | null>();
  readonly #asked = new Set<string>();

  /** `node` undefined: the field is not there, which whoever asked for it has already said. */
  constructor(file: OpenFile, node: Node | null | undefined, field: string) {
    this.file = file;
    this.field = field;
    const map = resolve(file, node);
    this.readable = isMap(map);
    if (!isMap(map)) {
      if (map !== undefined)
        this.fault('layout/wrong-shape', '', 'fields are needed here', "write 'name: value' pairs, indented below it");
      return;
    }
    for (const pair of map.items) {
      if (!isPair(pair) || !isScalar(pair.key)) {
        this.fault('layout/wrong-shape', '', 'a field without a plain name', "write 'name: value'");
        continue;
      }
      const name = textOf(pair.key) ?? '';
      const offset = (pair.key as Node).range?.[0];
      if (offset !== undefined) file.book.place(this.path(name), file.lines.linePos(offset).line);
      if (this.#values.has(name)) {
        this.fault('layout/duplicate-name', name, `'${name}' stands here twice`, 'rename or remove one of the two');
      }
      this.#values.set(name, (pair.value as Node | null) ?? null);
    }
  }

  path(name: string): string {
    if (name === '') return this.field;
    return this.field === '' ? name : `${this.field}.${name}`;
  }

  fault(code: FaultCode, name: string, problem: string, remedy: string): void {
    this.file.book.add(code, this.path(name), problem, remedy);
  }

  names(): string[] {
    return [...this.#values.keys()];
  }

  has(name: string): boolean {
    this.#asked.add(name);
    return this.#values.has(name);
  }

  node(name: string): Node | null {
    this.#asked.add(name);
    return resolve(this.file, this.#values.get(name) ?? null) ?? null;
  }

  /** The plain text of a field; null after a fault. */
  text(name: string, example: string): string | null {
    if (!this.has(name)) {
      if (this.readable)
        this.fault('layout/missing-field', name, `'${name}' is missing`, `add a line such as '${name}: ${example}'`);
      return null;
    }
    const text = textOf(this.node(name));
    if (text === null || text.trim() === '') {
      this.fault(
        'layout/bad-value',
        name,
        `'${name}' has no plain value`,
        `write a value such as '${name}: ${example}'`,
      );
      return null;
    }
    return text.trim();
  }

  quantity(name: string, dimension: Dimension, example: string, bounds: Bounds = {}): number {
    const text = this.text(name, example);
    return text === null ? Number.NaN : this.measure(name, text, dimension, example, bounds);
  }

  /** As `quantity`, with what holds when the field is left out. */
  quantityOr(name: string, otherwise: number, dimension: Dimension, example: string, bounds: Bounds = {}): number {
    return this.has(name) ? this.quantity(name, dimension, example, bounds) : otherwise;
  }

  number(name: string, example: string, bounds: Bounds = {}): number {
    const text = this.text(name, example);
    if (text === null) return Number.NaN;
    if (!/^-?\d+(\.\d+)?$/.test(text)) {
      this.fault(
        'layout/bad-value',
        name,
        `'${text}' is not a plain number`,
        `write a number without a unit, such as '${name}: ${example}'`,
      );
      return Number.NaN;
    }
    return this.#bounded(name, Number(text), text, bounds);
  }

  /** One of a few words; null after a fault. */
  choice<Word extends string>(name: string, words: readonly Word[]): Word | null {
    const text = this.text(name, words[0] ?? '');
    const word = words.find((candidate) => candidate === text) ?? null;
    if (text !== null && word === null) {
      this.fault('layout/bad-value', name, `'${text}' is not a word for '${name}'`, suggestion(text, words));
    }
    return word;
  }

  /** Fields whose meaning hangs on one that is faulty: neither read nor reported as unknown. */
  skip(names: readonly string[]): void {
    for (const name of names) this.#asked.add(name);
  }

  flag(name: string, otherwise: boolean): boolean {
    if (!this.has(name)) return otherwise;
    return this.choice(name, ['true', 'false']) === 'true';
  }

  /** Name of something else in the file; whether it exists is checked when all names are known. */
  reference(name: string, example: string): string {
    return this.text(name, example) ?? '';
  }

  section(name: string, example: string): Section {
    if (!this.has(name) && this.readable) {
      this.fault('layout/missing-field', name, `'${name}' is missing`, `add '${name}: ${example}'`);
    }
    return new Section(this.file, this.#values.has(name) ? this.node(name) : undefined, this.path(name));
  }

  /** A list of rows, each of plain values: a position, an outline, a curve, a dip table. */
  rows(name: string, dimensions: readonly Dimension[], example: string, minimumRows: number): number[][] {
    const list = this.#list(name, example);
    if (list === null) return [];
    const rows = list.map((row, index) =>
      this.#row(`${name}.${index + 1}`, resolve(this.file, row) ?? null, dimensions, example),
    );
    if (rows.length < minimumRows) {
      this.fault(
        'layout/bad-value',
        name,
        `'${name}' has ${rows.length} rows, at least ${minimumRows} are needed`,
        `write rows such as ${example}`,
      );
    }
    return rows;
  }

  /** Two values in brackets: a position east and north of the site's own origin, a measuring range. */
  pair(name: string, dimension: Dimension, example: string): readonly [number, number] {
    if (this.#list(name, example) === null) return [Number.NaN, Number.NaN];
    const row = this.#row(name, this.node(name), [dimension, dimension], example);
    return [row[0] ?? Number.NaN, row[1] ?? Number.NaN];
  }

  /** Whether the field holds a single value and not a map or a list. */
  isPlain(name: string): boolean {
    return isScalar(this.node(name));
  }

  /** Everything that was never asked for is a field nobody knows. */
  close(): void {
    const known = [...this.#asked];
    for (const name of this.#values.keys()) {
      if (this.#asked.has(name)) continue;
      this.fault('layout/unknown-field', name, `'${name}' is not a known field here`, suggestion(name, known));
    }
  }

  measure(name: string, text: string, dimension: Dimension, example: string, bounds: Bounds = {}): number {
    const parsed = parseQuantity(text, dimension);
    if (parsed.ok) return this.#bounded(name, parsed.value, text, bounds, dimension);
    this.fault(FAULT_OF[parsed.reason], name, parsed.why, `write it such as '${example}'`);
    return Number.NaN;
  }

  #bounded(name: string, value: number, text: string, bounds: Bounds, dimension?: Dimension): number {
    const tooLow =
      (bounds.min !== undefined && value < bounds.min) || (bounds.above !== undefined && value <= bounds.above);
    if (tooLow || (bounds.max !== undefined && value > bounds.max)) {
      this.fault(
        'layout/out-of-range',
        name,
        `'${text}' cannot be right for '${name}'`,
        `write a value ${wordsFor(bounds, dimension)}`,
      );
    }
    return value;
  }

  #list(name: string, example: string): readonly (Node | null)[] | null {
    if (!this.has(name)) {
      if (this.readable) this.fault('layout/missing-field', name, `'${name}' is missing`, `add '${name}: ${example}'`);
      return null;
    }
    const node = this.node(name);
    if (isSeq(node)) return node.items as (Node | null)[];
    this.fault('layout/wrong-shape', name, `'${name}' must be a list`, `write '${name}: ${example}'`);
    return null;
  }

  #row(name: string, node: Node | null, dimensions: readonly Dimension[], example: string): number[] {
    const offset = node?.range?.[0];
    if (offset !== undefined && !this.#values.has(name)) {
      this.file.book.place(this.path(name), this.file.lines.linePos(offset).line);
    }
    if (!isSeq(node) || node.items.length !== dimensions.length) {
      this.fault(
        'layout/wrong-shape',
        name,
        `${dimensions.length} values in brackets are needed here (${dimensions.join(', ')})`,
        `write it such as ${example}`,
      );
      return dimensions.map(() => Number.NaN);
    }
    return dimensions.map((dimension, column) => {
      const text = textOf(resolve(this.file, node.items[column] as Node | null) ?? null) ?? '';
      return this.measure(name, text, dimension, example);
    });
  }
}

const FAULT_OF = {
  'no-number': 'layout/bad-quantity',
  'no-unit': 'layout/missing-unit',
  'unknown-unit': 'layout/unknown-unit',
  'ambiguous-gallon': 'layout/ambiguous-gallon',
  'wrong-dimension': 'layout/wrong-dimension',
} as const satisfies Record<string, FaultCode>;

function wordsFor(bounds: Bounds, dimension: Dimension | undefined): string {
  const words = (bound: number): string => {
    if (dimension === 'ratio') return `${bound * 100} %`;
    return dimension === 'angle' ? `${bound} deg` : `${bound}`;
  };
  const parts = [];
  if (bounds.above !== undefined) parts.push(`above ${words(bounds.above)}`);
  if (bounds.min !== undefined) parts.push(`of at least ${words(bounds.min)}`);
  if (bounds.max !== undefined) parts.push(`of at most ${words(bounds.max)}`);
  return parts.join(' and ');
}

function resolve(file: OpenFile, node: Node | null | undefined): Node | null | undefined {
  return isAlias(node) ? (file.anchors.get(node.source) ?? null) : node;
}

/** As it stands in the file: '007' and '1e3' keep their spelling. */
function textOf(node: Node | null): string | null {
  if (!isScalar(node) || node.value === null || node.value === undefined) return null;
  return typeof node.value === 'string' ? node.value : (node.source ?? String(node.value));
}
