/** The pre-flight sheet: what it says of both sites and of a lay with faults, and how its command ends. */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Layout, UnitSystem } from '../../config/layout/layout.ts';
import { preflight } from '../../gateway/core/hydraulics/preflight.ts';
import { buildNetwork } from '../../gateway/core/hydraulics/network.ts';
import { remediesFor } from '../../gateway/core/hydraulics/remedy.ts';
import { asRigged } from '../../gateway/core/hydraulics/settings.ts';
import { readSiteFile } from '../../gateway/launch/site-file.ts';
import { preflightSheet } from '../../gateway/launch/preflight-sheet.ts';
import { headKitOf, hoseKitOf, LayoutBuilder, pumpKitOf } from '../support/layout-builder.ts';

function siteOf(name: string): Layout {
  const file = readSiteFile(`config/sites/${name}.yaml`);
  if (!file.ok) throw new Error(file.why);
  return file.layout;
}

/** As one flow of words, so that a test does not depend on where lines break. */
function wordsOf(layout: Layout): string {
  return preflightSheet(layout).join(' ').replaceAll(/\s+/g, ' ');
}

/** A weak pump, and a thin hose ahead of the last head; `lengthM` decides how weak that gets. */
function longLay(lengthM: number): Layout {
  const strong = pumpKitOf('portable-high-pressure');
  const kit = { ...strong, curveRisePa: strong.curveRisePa.map((rise) => 0.3 * rise) };
  return new LayoutBuilder()
    .tank('tank')
    .pump('pump', 'tank', 'p0', { kit })
    .chain(['p0', 'p1'], { lengthM: 30 })
    .gate('thief-a', 'p1', 'a0', { line: 'line-a' })
    .gate('thief-b', 'p1', 'b0', { line: 'line-b' })
    .hose('near', 'a0', 'a1', { kit: hoseKitOf('lined-25'), lengthM: 20, line: 'line-a' })
    .hose('far', 'b0', 'b1', { kit: hoseKitOf('lined-25'), lengthM, line: 'line-b' })
    .head('h-near', 'a1', { line: 'line-a' })
    .head('h-far', 'b1', { label: 'far post', line: 'line-b', kit: headKitOf('impact-1') })
    .build();
}

describe('the sheet', () => {
  it.each(['larch-cove', 'quarry-road'])(
    'of %s has every head, line, gate, pump and source, and the model agrees with its verdict',
    (name) => {
      const layout = siteOf(name);
      const words = wordsOf(layout);
      for (const { id, label } of [...layout.heads, ...layout.pumps, ...layout.sources])
        expect(words).toContain(`${id} ${label}`);
      for (const { label } of layout.lines) expect(words).toContain(label);
      for (const { id } of layout.gates) expect(words).toContain(id);
      const turning = preflight(layout, 20).heads.filter(({ standing }) => standing === 'turns').length;
      expect(words).toContain(`Verdict: ${turning} of ${layout.heads.length} heads in range`);
      expect(words).toContain('Wind is not modelled');
      expect(words).toMatch(
        /Advisory only\. Sees no fire\. Never go because of a reading\. .* good to 5-10 %.*come first\.$/,
      );
    },
  );

  it('speaks the units of the site', () => {
    expect(wordsOf(siteOf('larch-cove'))).toMatch(/US gpm in\/h/);
    expect(wordsOf(siteOf('quarry-road'))).toMatch(/L\/min mm\/h/);
    expect(wordsOf(siteOf('quarry-road'))).not.toMatch(/psi|gpm|in\/h/);
  });

  it.each<UnitSystem>(['us', 'imperial', 'metric'])(
    'fits 78 columns in %s units, with its verdict on one line',
    (units) => {
      for (const layout of [siteOf('larch-cove'), siteOf('quarry-road'), longLay(900)]) {
        const sheet = preflightSheet({ ...layout, units });
        expect(sheet.filter((line) => line.length > 78)).toEqual([]);
        expect(sheet.filter((line) => /^Verdict: .*\.$/.test(line))).toHaveLength(1);
      }
    },
  );

  it('names a weak head first, with the cheapest remedy that the model found', () => {
    const layout = longLay(700);
    const network = buildNetwork(layout);
    const [cheapest] = remediesFor(network, asRigged(network), 'h-far');
    expect(cheapest).toMatchObject({ change: 'shorter-hose', subject: 'far' });
    const words = wordsOf(layout);
    expect(words).toMatch(
      /h-far far post: \d+ kPa is too weak to turn it, which takes 207 kPa\. Cheapest remedy found: lay hose far at half its length\./,
    );
    expect(words).toContain('Verdict: 1 of 2 heads out of range');
    const rows = preflightSheet(layout).filter((line) => /^h-(far|near) .*\d+-\d+/.test(line));
    expect(rows.map((row) => row.split(' ')[0])).toEqual(['h-far', 'h-near']);
  });

  it('counts what a change of the throttle does to the others', () => {
    expect(wordsOf(longLay(450))).toMatch(
      /set the throttle of pump to 105 % of rated speed\. It would then have \d+ kPa; every head would then be in range\./,
    );
  });

  it('says so when no change that was tried is enough, and when no water comes', () => {
    expect(wordsOf(longLay(20_000))).toContain('None of the single changes tried is enough.');
    const rigged = longLay(20);
    const shut = {
      ...rigged,
      gates: rigged.gates.map((gate) => (gate.id === 'thief-b' ? { ...gate, opening: 0 } : gate)),
    };
    expect(wordsOf(shut)).toMatch(/h-far far post: no water reaches it\. Look for a shut gate/);
    expect(wordsOf(shut)).toContain('thief-b (is shut)');
  });

  it('calls a lay without a solution unknown, never fine', () => {
    const lay = longLay(20);
    const words = wordsOf({ ...lay, sources: lay.sources.map((source) => ({ ...source, elevationM: NaN })) });
    expect(words).toContain('Verdict: unknown');
    expect(words).not.toContain('in range');
  });
});

describe('npm run check', () => {
  let folder = '';
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'wetdown-check-'));
  });
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  function check(...args: string[]): { code: number | null; out: string; err: string } {
    const { status, stdout, stderr } = spawnSync(
      process.execPath,
      ['--import', 'tsx', 'gateway/launch/check.ts', ...args],
      {
        encoding: 'utf8',
      },
    );
    return { code: status, out: stdout, err: stderr };
  }

  it('prints the demonstration site without being told, and help', () => {
    expect(check()).toEqual({ code: 0, out: `${preflightSheet(siteOf('larch-cove')).join('\n')}\n`, err: '' });
    expect(check('--help')).toMatchObject({ code: 0, out: expect.stringContaining('SITE.yaml') as string, err: '' });
  });

  it('ends with 2 and a sentence for an option, a file or a layout that cannot be', () => {
    const broken = join(folder, 'broken.yaml');
    writeFileSync(
      broken,
      readFileSync('config/sites/larch-cove.yaml', 'utf8').replace('altitude: 870 m', 'altitude: 870'),
    );
    expect(check('--hlep')).toEqual({
      code: 2,
      out: '',
      err: 'There is no option --hlep. Did you mean --help? See --help.\n',
    });
    expect(check('a.yaml', 'b.yaml')).toMatchObject({
      code: 2,
      err: expect.stringContaining("'b.yaml' is one too many") as string,
    });
    expect(check(join(folder, 'none.yaml'))).toMatchObject({
      code: 2,
      out: '',
      err: expect.stringMatching(/^Cannot read the site file .*none\.yaml/) as string,
    });
    const { code, out, err } = check(broken);
    expect([code, out]).toEqual([2, '']);
    expect(err).toMatch(/broken\.yaml, line 8: altitude: [\s\S]*1 fault in .*broken\.yaml: nothing was started/);
  });

  it('ends with 0 when heads are weak: it is advice', () => {
    const weak = join(folder, 'weak.yaml');
    writeFileSync(
      weak,
      readFileSync('config/sites/quarry-road.yaml', 'utf8').replaceAll(/, rise: [\d.]+ m/g, ', rise: 45 m'),
    );
    const { code, out } = check(weak);
    expect(code).toBe(0);
    expect(out).toMatch(/Verdict: \d+ of 10 heads out of range/);
  });
});
