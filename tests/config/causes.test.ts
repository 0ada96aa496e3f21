/** A cause is known everywhere or nowhere: its row, its physics, its fault in the simulator, its words, its safety. */
import { existsSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import {
  type Cause,
  CAUSE_IDS,
  CAUSES,
  causesOfFind,
  familyOf,
  type Find,
  FINDS,
  findWords,
  HELD_BACK,
  SIGHT_WORDS,
  SIGHTS,
} from '../../config/causes/causes.ts';
import { MODES } from '../../config/modes.ts';
import { DEADHEAD_WARNING, FUEL_LINE } from '../../config/safety.ts';
import { checkOf } from '../../gateway/core/alarms/wording.ts';
import { PHYSICS } from '../../gateway/core/diagnosis/causes/causes.ts';
import { EVENT_KINDS, NOT_PLAYED } from '../../simulator/faults/faults.ts';
import { CLASSES } from '../score/classes.ts';
import { scoreLay } from '../score/lays.ts';
import { SeededRandom } from '../../simulator/seeded-random.ts';
import { Plant } from '../../simulator/plant.ts';

const DIAGNOSIS = 'gateway/core/diagnosis';
const played = new Set(Object.values(EVENT_KINDS).flatMap(({ causes }) => causes));

/** What a cause lacks, in words. */
function lacks(cause: Cause, rows: Partial<typeof CAUSES> = CAUSES): string[] {
  const row = rows[cause];
  if (!row) return ['a row'];
  const physics = PHYSICS[cause];
  const words = [row.name, row.called, row.check];
  return [
    ...(words.some((one) => one.trim() === '') ? ['words'] : []),
    ...(!physics ? ['physics'] : []),
    ...(physics && 'seenBy' in physics && !names(physics.seenBy, cause) ? ['a file that sees it'] : []),
    ...(physics && !('seenBy' in physics) && Object.keys(physics).length === 0 ? ['physics'] : []),
    ...(!played.has(cause) && !((NOT_PLAYED as Partial<Record<Cause, string>>)[cause] ?? '') ? ['a fault'] : []),
    ...(row.hazard && (row.whileUnknown !== 'people' || row.safety !== 'stay-away') ? ['words of its hazard'] : []),
    ...(/\bfuel\b|\bcan\b|engine/i.test(row.check) && row.safety === 'sending' && row.moves === 'pump'
      ? ['words for fuel']
      : []),
    ...(row.hazard && row.heldBackBy.length > 0 ? ['a warning that nothing holds back'] : []),
  ];
}

/** A file of the diagnosis that finds and names it. */
function names(file: string, cause: Cause): boolean {
  const path = `${DIAGNOSIS}/${file}`;
  return existsSync(path) && readFileSync(path, 'utf8').includes(`'${cause}'`);
}

describe('a cause', () => {
  it.each(CAUSE_IDS)('%s has its row, physics, fault, words and safety', (cause) => {
    expect(lacks(cause)).toEqual([]);
  });

  it('is missed if it lacks one of them', () => {
    expect(lacks('leak', { ...CAUSES, leak: { ...CAUSES.leak, check: ' ' } })).toEqual(['words']);
    expect(lacks('dead-head', { ...CAUSES, 'dead-head': { ...CAUSES['dead-head'], safety: 'sending' } })).toEqual([
      'words of its hazard',
    ]);
    expect(lacks('new-one' as Cause)).toEqual(['a row']);
    expect(lacks('new-one' as Cause, { ...CAUSES, 'new-one': CAUSES.leak } as typeof CAUSES)).toEqual([
      'physics',
      'a fault',
    ]);
  });

  it('that people meet at an engine or a shut pump carries the sentence that keeps them safe', () => {
    for (const cause of CAUSE_IDS) {
      const { safety } = CAUSES[cause];
      expect(checkOf(cause).startsWith(DEADHEAD_WARNING)).toBe(safety === 'stay-away');
      expect(checkOf(cause).endsWith(FUEL_LINE)).toBe(safety === 'fuel');
    }
    const fuelled: readonly Cause[] = ['pump-stop', 'pump-fade', 'fuel-low'];
    expect(CAUSE_IDS.filter((cause) => CAUSES[cause].safety === 'fuel').toSorted()).toEqual(fuelled.toSorted());
    expect(CAUSE_IDS.filter((cause) => CAUSES[cause].hazard)).toEqual(['dead-head']);
  });

  it('of a kind that the simulator plays is drawn by a class of the scorecard, or is no fault of its own', () => {
    const layouts = (['quarry-road', 'two-lines-8'] as const).map((name) => scoreLay(name, 'fast'));
    const drawn = new Set(
      layouts.flatMap((layout) => {
        const plant = new Plant(layout, 9_000);
        plant.prime(0.95);
        return CLASSES.flatMap(({ name, draw }) =>
          (draw(layout, plant, SeededRandom.named(9_000, name))?.deeds ?? []).flatMap(
            ({ what }) => EVENT_KINDS[what]!.causes,
          ),
        );
      }),
    );
    expect([...played].filter((cause) => !drawn.has(cause))).toEqual([]);
  });
});

describe('the seconds for which a cause must be gone before it is over', () => {
  const off = (cause: Cause): number => CAUSES[cause].delaysS[1];

  it('are never fewer than those after which a reading is late: one that is missing ends nothing', () => {
    for (const cause of CAUSE_IDS) expect(off(cause), cause).toBeGreaterThanOrEqual(3);
  });

  it('are ten at most, but for what is left of a store: that moves slowly, and water slops', () => {
    for (const cause of CAUSE_IDS)
      expect(off(cause), cause).toBeLessThanOrEqual(CAUSES[cause].moves === 'store' ? 30 : 10);
  });

  it('are as many for each cause of the lay that may sharpen into another', () => {
    for (const family of ['outflow', 'blocked'])
      expect(new Set(CAUSE_IDS.filter((cause) => CAUSES[cause].family === family).map(off)).size, family).toBe(1);
  });
});

it('a look overlooks a thing the more seldom, the more it stands out', () => {
  const overlooked = (cause: Cause): number => CAUSES[cause].sight!.overlooked;
  const order = (['hose-burst', 'head-off', 'gate-shut', 'leak', 'restriction'] as const).map(overlooked);
  expect(order).toEqual([...new Set(order)].toSorted((a, b) => a - b));
  // A weep at a coupling and a stream that is missing: both want a look from near.
  expect(overlooked('leak')).toBe(overlooked('plug'));
});

describe('the lists that are made of the rows', () => {
  it('hold back what the work brings about, and no more', () => {
    // Retyped: what crews were told when the lists stood by themselves.
    const told: Record<(typeof MODES)[number], readonly Cause[]> = {
      filling: ['head-off', 'head-stalled', 'leak', 'plug', 'restriction', 'gate-shut', 'pump-fade', 'unexplained'],
      refuelling: ['pump-stop', 'pump-fade', 'fuel-low'],
      cycling: ['restriction', 'gate-shut'],
      draining: ['pump-stop', 'check-valve', 'tank-low', 'tank-leak'],
    };
    expect(HELD_BACK).toEqual(told);
  });

  it('name what can be found, in the order of the form', () => {
    const finds: readonly Find[] = [
      'head-off',
      'leak',
      'hose-burst',
      'plug',
      'restriction',
      'gate-shut',
      'pump-stop',
      'pump-fade',
      'dead-head',
      'suction-trouble',
      'check-valve',
      'tank-leak',
      'sensor-wrong',
      'head-stalled',
      'head-slipped',
      'wrong-arc',
      'other-unseen',
    ];
    expect(FINDS).toEqual(finds);
    expect(new Set(FINDS.map(findWords)).size).toBe(FINDS.length);
    expect(FINDS.map(findWords)).toEqual([
      'Head off',
      'Leak',
      'Hose burst or parted',
      'Nozzle plugged',
      'Hose kinked',
      'Gate shut',
      'Pump stopped',
      'Pump weak',
      'Pump deadheaded',
      'Suction trouble',
      'Check valve leaks back',
      'Tank leaks',
      'Sensor wrong or silent',
      'Head stalled, water runs',
      'Head slipped, still sprays',
      'Head waters the wrong side',
      'Something no gauge could show',
    ]);
    expect(causesOfFind('leak')).toEqual(['head-off', 'leak', 'hose-burst']);
    expect(causesOfFind('sensor-wrong')).toEqual(['sensor-silent', 'sensor-stuck', 'sensor-drift', 'sensor-swapped']);
    expect(causesOfFind('wrong-arc')).toEqual([]);
  });

  it('name what a look can find, each once', () => {
    expect([...SIGHTS].toSorted()).toEqual(
      ['nothing-wrong', 'head-off', 'leak', 'plug', 'restriction', 'hose-burst', 'gate-shut'].toSorted(),
    );
    expect(SIGHT_WORDS.map(([sight]) => sight)).toEqual(SIGHTS);
  });

  it('put what sharpens into one another into one family', () => {
    expect(familyOf('plug')).toEqual(['plug', 'restriction', 'gate-shut']);
    expect(familyOf('suction-trouble')).toEqual(['pump-fade', 'suction-trouble']);
    expect(familyOf('tank-leak')).toEqual(['tank-leak']);
  });
});
