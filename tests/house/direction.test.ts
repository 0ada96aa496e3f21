/** Downhill only, no circle, type imports included; each library and built-in has its folders. */
import { describe, expect, it } from 'vitest';
import { broughtAlong, circles, roomOf, strayImports, uphill } from './imports.ts';
import { IMPORTERS, IMPURE, MAIN, PURE, REACHES, ROOMS, WORLD } from './rooms.ts';
import { SourceFile, sourceFiles } from './source-files.ts';
import { namesUsed } from './syntax.ts';

const FILES = sourceFiles();
const product = FILES.filter(({ path }) => !path.startsWith('tests/'));
const planted = (texts: Readonly<Record<string, string>>) =>
  Object.entries(texts).map(([path, text]) => new SourceFile(path, text));

/** What pure folders may not use. */
const FORBIDDEN = [...Object.values(REACHES).flatMap(({ names }) => names), ...WORLD];
/** Ways to reach for it, each with the name by which it must be found. */
const REACHING = [
  ['Date', 'Date.now();'],
  ['Date', 'const { now } = Date;'],
  ['Date', 'const D = Date;'],
  ['Date', "Date['now']();"],
  ['Date', 'Date();'],
  ['Date', 'new Date;'],
  ['Date', 'new Date();'],
  ['Date', 'new Date(...a);'],
  ['Date', 'window.Date.now();'],
  ['Date', 'class A extends Date {}'],
  ['Date', "const a = `it's ${Date.now()} o'clock`;"],
  ['Temporal', 'Temporal.Now.instant();'],
  ['performance', 'const { now } = performance;'],
  ['Math', 'Math.random();'],
  ['Math', 'const { random } = Math;'],
  ['Math', "Math['random']();"],
  ['Math', 'const M = Math;'],
  ['randomInt', "import { randomInt as pick } from 'node:crypto';"],
  ['randomBytes', 'hash.randomBytes(8);'],
  ['randomUUID', 'const { randomUUID: a } = hash;'],
  ['getRandomValues', "hash['getRandomValues'](a);"],
  ['fetch', 'const f = fetch;'],
  ['fetch', 'const a = { fetch };'],
  ['process', 'const p = process;'],
  ['WebSocket', 'new WebSocket(a);'],
  ['XMLHttpRequest', 'new XMLHttpRequest();'],
  ['localStorage', 'localStorage.a = 1;'],
  ['queueMicrotask', 'queueMicrotask(act);'],
  ['setTimeout', 'const wait = setTimeout;'],
  ['eval', "eval('1');"],
  ['Function', "new Function('1')();"],
  ['globalThis', 'globalThis[`a`];'],
] as const;

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
    expect(circles(files)).toEqual([['a/self.ts'], ['a/one.ts', 'a/two.ts', 'b/three.ts']]);
  });

  it('is told the shortest circle only, where one import closes many', () => {
    const files = planted({
      'a/0.ts': "import './1.ts';\nimport './3.ts';",
      'a/1.ts': "import './2.ts';",
      'a/2.ts': "import './3.ts';",
      'a/3.ts': "import './4.ts';",
      'a/4.ts': "import './0.ts';",
    });
    expect(circles(files)).toEqual([['a/0.ts', 'a/3.ts', 'a/4.ts']]);
  });

  it.each([
    "import b = require('./b.ts');",
    "const b = require('./b.ts');",
    'const b = await import(`./b.ts`);',
    "import { 'a-b' as c } from './b.ts';",
    "export * as b from './b.ts';",
    "let b: import('./b.ts').B;",
    "new Worker(new URL('./b.ts', import.meta.url));",
    "import.meta.resolve('./b.ts');",
    "const a = 'a/*'; import './b.ts'; const b = '*/';",
  ])('sees an import in: %s', (text) => {
    for (const file of [
      new SourceFile('x/a.ts', text),
      new SourceFile('x/a.svelte', `<script lang="ts">${text}</script>`),
    ])
      expect(file.imports).toEqual(['x/b.ts']);
  });

  it.each(["// import './b.ts';", 'const a = "import \'./b.ts\'";', "new URL('./b.png', import.meta.url);"])(
    'sees no import in: %s',
    (text) => {
      expect(new SourceFile('x/a.ts', text).imports).toEqual([]);
    },
  );
});

describe('libraries, built-ins, clocks and dice', () => {
  it('have importing folders of their own', () => {
    expect(strayImports(product, IMPORTERS)).toEqual([]);
  });

  it.each(Object.entries(REACHES))('let only the folders that are named reach for %s', (_, { names, folders }) => {
    const users = product.filter(({ trees }) => namesUsed(trees, names).length > 0).map(({ path }) => path);
    expect(users.filter((path) => !folders.some((folder) => path.startsWith(folder)))).toEqual([]);
    expect(folders.filter((folder) => !users.some((path) => path.startsWith(folder)))).toEqual([]);
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
    const unlisted = {
      "import fs from 'fs';": 'node:fs',
      "import { readFile } from 'fs/promises';": 'node:fs',
      "import { connect } from 'net';": 'node:net',
      "import { hrtime } from 'process';": 'node:process',
      "import { randomInt } from 'crypto';": 'node:crypto',
      "import { createRequire } from 'node:module';": 'node:module',
      "import Ajv from 'ajv';": 'ajv',
      "import pad from 'leftpad/lib';": 'leftpad',
      'const a = await import(name);': 'name',
      'const a = await import(`./${name}.ts`);': '`./${name}.ts`',
      'new Worker(new URL(name, import.meta.url));': 'name',
      "import a from '../package.json';": 'package.json',
    };
    for (const [text, name] of Object.entries(unlisted))
      expect(strayImports(planted({ 'config/a.ts': text }), IMPORTERS)).toEqual([`config/a.ts has ${name}`]);
  });

  it('stay out of the pure folders', () => {
    const isPure = (path: string): boolean =>
      PURE.some((start) => path.startsWith(start)) && !IMPURE.some((start) => path.startsWith(start));
    const pure = product.filter(({ path }) => isPure(path));
    expect(pure.length).toBeGreaterThan(150);
    expect(
      pure.flatMap((file) => [
        ...namesUsed(file.trees, FORBIDDEN).map((name) => `${file.path}: ${name}`),
        ...file.imports
          .filter((name) => name.startsWith('node:') && name !== 'node:crypto')
          .map((name) => `${file.path}: ${name}`),
      ]),
    ).toEqual([]);
  });

  it.each(REACHING)('are found by the name of %s in: %s', (name, text) => {
    expect(namesUsed(new SourceFile('a/b.ts', text).trees, FORBIDDEN)).toEqual([name]);
    const markup = new SourceFile(
      'a/b.svelte',
      `<script lang="ts">let a = 1;</script>\n<style>a{b:c}</style>\n<p>it's</p>`,
    );
    expect(namesUsed(markup.trees, FORBIDDEN)).toEqual([]);
    const inScript = markup.text.replace('let a = 1;', text);
    expect(namesUsed(new SourceFile('a/b.svelte', inScript).trees, FORBIDDEN)).toEqual([name]);
  });

  it.each([
    '{Date.now()}',
    '{#each a(Date.now()) as b}{b}{/each}',
    '<a onclick={() => Date.now()}>b</a>',
    '{@const a = Date.now()}',
  ])('are found in the markup of a component: %s', (markup) => {
    expect(namesUsed(new SourceFile('a/b.svelte', `<p>it's {#if a}${markup}{/if}</p>`).trees, FORBIDDEN)).toEqual([
      'Date',
    ]);
  });

  it('are not taken for what is harmless', () => {
    const text = `// Date.now()
      import { createHash } from 'node:crypto';
      let a: Date | typeof fetch = new Date(1);
      interface B { fetch: () => Date }
      const b = "Date.now()" + \`it's fetch\` + Date.UTC(1, 2) + Date.parse('c') + Math.max(1, 2) + (a instanceof Date);`;
    expect(namesUsed(new SourceFile('a/b.ts', text).trees, FORBIDDEN)).toEqual([]);
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
