/** Downhill only, no circle, type imports included; each library and built-in has its folders. */
import { describe, expect, it } from 'vitest';
import { broughtAlong, circles, roomOf, strayImports, uphill } from './imports.ts';
import { CALLERS, IMPORTERS, IMPURE, MAIN, PURE, ROOMS } from './rooms.ts';
import { sourceFile, sourceFiles } from './source-files.ts';

const FILES = sourceFiles();
const product = FILES.filter(({ path }) => !path.startsWith('tests/'));
const planted = (texts: Readonly<Record<string, string>>) =>
  Object.entries(texts).map(([path, text]) => sourceFile(path, text));

describe('the direction of imports', () => {
  it('is downhill, type imports included', () => {
    expect(product.filter(({ path }) => roomOf(path, ROOMS) === null).map(({ path }) => path)).toEqual([MAIN]);
    expect(uphill(product, ROOMS)).toEqual([]);
  });

  it('is told where it goes uphill: a planted import, also of a type only', () => {
    const files = planted({
      'gateway/core/statistics/cusum.ts': "import type { Verdict } from '../alarms/priority.ts';",
      'gateway/core/alarms/priority.ts': "import type { Layout } from '../../../config/layout/layout.ts';",
      'simulator/plant.ts': "import { solve } from '../gateway/core/hydraulics/solve.ts';",
      'ui/link/requests.ts': "import { site } from '../state/site-view.svelte.ts';",
    });
    expect(uphill(files, ROOMS)).toEqual([
      'gateway/core/statistics/cusum.ts -> gateway/core/alarms/priority.ts',
      'simulator/plant.ts -> gateway/core/hydraulics/solve.ts',
      'ui/link/requests.ts -> ui/state/site-view.svelte.ts',
    ]);
  });

  it('lets nobody import what puts the rooms together', () => {
    expect(product.filter(({ imports }) => imports.includes(MAIN)).map(({ path }) => path)).toEqual([]);
  });

  it('has no circle, type imports included', () => {
    expect(circles(FILES)).toEqual([]);
  });

  it('is told where it goes in a circle: a planted one of three files, closed by a type', () => {
    const files = planted({
      'a/one.ts': "import { two } from './two.ts';\nimport { four } from './four.ts';",
      'a/two.ts': "export { three } from '../b/three.ts';",
      'b/three.ts': "import type { One } from '../a/one.ts';",
      'a/four.ts': '',
      'a/self.ts': "import type { Self } from './self.ts';",
    });
    expect(circles(files)).toEqual([['a/one.ts', 'a/two.ts', 'b/three.ts'], ['a/self.ts']]);
  });
});

describe('libraries, built-ins, clocks and dice', () => {
  it('have importing folders of their own', () => {
    expect(strayImports(product, IMPORTERS)).toEqual([]);
  });

  it.each(Object.entries(CALLERS))('%s are called from folders that are named', (_, { call, folders }) => {
    const callers = product.filter(({ code }) => call.test(code)).map(({ path }) => path);
    expect(callers.filter((path) => !folders.some((folder) => path.startsWith(folder)))).toEqual([]);
    expect(folders.filter((folder) => !callers.some((path) => path.startsWith(folder)))).toEqual([]);
  });

  it('are told where they stray: planted imports', () => {
    const files = planted({
      'gateway/review/csv.ts': "import { readFileSync } from 'node:fs';",
      'ui/main.ts': "import uPlot from 'uplot';\nimport type { FastifyInstance } from 'fastify';",
    });
    expect(strayImports(files, IMPORTERS)).toEqual([
      'gateway/review/csv.ts has node:fs',
      'ui/main.ts has uplot',
      'ui/main.ts has fastify',
    ]);
  });

  it('stay out of the pure folders', () => {
    const isPure = (path: string): boolean =>
      PURE.some((start) => path.startsWith(start)) && !IMPURE.some((start) => path.startsWith(start));
    const pure = product.filter(({ path }) => isPure(path));
    expect(pure.length).toBeGreaterThan(150);
    const world = /\bprocess\.|\bfetch\(|\bconsole\./;
    const found = pure.flatMap((file) => [
      ...Object.values(CALLERS).flatMap(
        ({ call }) => call.exec(file.code)?.map((what) => `${file.path}: ${what}`) ?? [],
      ),
      ...(world.exec(file.code)?.map((what) => `${file.path}: ${what}`) ?? []),
      ...file.imports
        .filter((name) => name.startsWith('node:') && name !== 'node:crypto')
        .map((name) => `${file.path}: ${name}`),
    ]);
    expect(found).toEqual([]);
  });

  it('leave the library of the schemas out of the screen, which has their types only', () => {
    const along = broughtAlong(product, 'ui/main.ts');
    expect(along.length).toBeGreaterThan(100);
    expect(along.filter(({ valueImports }) => valueImports.includes('typebox')).map(({ path }) => path)).toEqual([]);
    const files = planted({
      'ui/main.ts': "import type { Entry } from '../config/wire/entry.ts';\nimport { MODES } from './modes.ts';",
      'ui/modes.ts': '',
      'config/wire/entry.ts': "import Type from 'typebox';",
    });
    expect(broughtAlong(files, 'ui/main.ts').map(({ path }) => path)).toEqual(['ui/main.ts', 'ui/modes.ts']);
  });
});
