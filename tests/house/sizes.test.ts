/** Nothing is so large that it hides what it does: functions, files, classes. */
import { describe, expect, it } from 'vitest';
import { classFields, fileLines, functionLines, outgrown, tooLarge, widestLine } from './sizes.ts';
import { SourceFile, sourceFiles } from './source-files.ts';
import { FILES_TO_BE_SPLIT } from './to-be-split.ts';

const LINES_MAX = 300;
const TEST_LINES_MAX = 400;
const FUNCTION_LINES_MAX = 60;
const FIELDS_MAX = 12;
const COLUMNS_MAX = 120;
const FILES = sourceFiles();
const product = FILES.filter(({ path }) => !path.startsWith('tests/'));
const tests = FILES.filter(({ path }) => path.startsWith('tests/'));

describe('the size of things', () => {
  it(`is at most ${LINES_MAX} lines a file, ${TEST_LINES_MAX} of tests`, () => {
    expect(tooLarge(product.map(fileLines), LINES_MAX, {})).toEqual([]);
    expect(tooLarge(tests.map(fileLines), TEST_LINES_MAX, FILES_TO_BE_SPLIT)).toEqual([]);
  });

  it(`is at most ${FUNCTION_LINES_MAX} lines a function`, () => {
    const sizes = product.flatMap(functionLines);
    expect(sizes.length).toBeGreaterThan(1_000);
    expect(tooLarge(sizes, FUNCTION_LINES_MAX, {})).toEqual([]);
  });

  it(`is at most ${FIELDS_MAX} fields a class`, () => {
    const sizes = product.flatMap(classFields);
    expect(sizes.length).toBeGreaterThan(40);
    expect(tooLarge(sizes, FIELDS_MAX, {})).toEqual([]);
  });

  it(`is at most ${COLUMNS_MAX} columns a line, of code`, () => {
    const code = product.filter(({ path }) => path.endsWith('.ts'));
    expect(tooLarge(code.map(widestLine), COLUMNS_MAX, {})).toEqual([]);
    const planted = new SourceFile('a/wide.ts', `act('${'a'.repeat(115)}');`);
    expect(tooLarge([widestLine(planted)], COLUMNS_MAX, {})).toEqual(['a/wide.ts: 123']);
  });

  it('has no exception that is needed no more', () => {
    expect(outgrown(tests.map(fileLines), TEST_LINES_MAX, FILES_TO_BE_SPLIT)).toEqual([]);
  });

  it('is told of what is planted: a function of 61 lines, a class of 13 fields, a file of 301 lines', () => {
    const body = (lines: number): string => '  act();\n'.repeat(lines);
    const file = new SourceFile(
      'a/b.ts',
      `function fits() {\n${body(58)}}\nconst long = () => {\n${body(59)}};\nclass Part {\n  grow() ` +
        `{\n${body(59)}  }\n}\n`,
    );
    expect(tooLarge(functionLines(file), 60, {})).toEqual(
      expect.arrayContaining(['a/b.ts long: 61', 'a/b.ts grow: 61']),
    );
    expect(tooLarge(functionLines(file), 60, { 'a/b.ts long': 61, 'a/b.ts grow': 60 })).toEqual(['a/b.ts grow: 61']);
    const fields = Array.from({ length: 11 }, (_, index) => `  #field${index} = 0;\n`).join('');
    const classes = new SourceFile(
      'a/c.svelte',
      `<script lang="ts">\nclass Twelve {\n${fields}  readonly last = 1;\n  get none() { return 0; ` +
        `}\n}\nclass Thirteen {\n${fields}  constructor(private readonly one: number, readonly two: ` +
        `number, three: number) {}\n}\n</script>\n<p>class</p>`,
    );
    expect(tooLarge(classFields(classes), 12, {})).toEqual(['a/c.svelte Thirteen: 13']);
    expect(tooLarge([fileLines(new SourceFile('a/d.ts', 'a();\n'.repeat(301)))], 300, {})).toEqual(['a/d.ts: 301']);
    expect(outgrown([fileLines(new SourceFile('a/d.ts', 'a();\n'.repeat(300)))], 300, { 'a/d.ts': 320 })).toEqual([
      'a/d.ts',
    ]);
  });
});
