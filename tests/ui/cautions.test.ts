/**
 * The standing cautions, word for word: they keep people from harm, so that none of them loses a clause unseen. Trades
 * and authorities that they defer to, and what each forbids, are common practice, no source.
 */
import { describe, expect, it } from 'vitest';
import { CAUTIONS, NOTHING_FLAGGED } from '../../ui/words/cautions.ts';

const said = (title: string): string => CAUTIONS.find((caution) => caution.title === title)!.words;

describe('the cautions', () => {
  it.each([
    [
      'This only advises',
      'Incident command, local codes, the fire service and licensed trades come first.',
      'It is no life-safety, fire-detection or warning device.',
      'It starts, stops and opens nothing.',
    ],
    [
      'It sees no fire',
      'No fire, wind, falling tree or blocked road shows here.',
      'Never go back, stay longer or send anybody because of a reading.',
      'No pump and no structure is worth a life.',
    ],
    [
      "'As modelled' is not 'protected'",
      'It means that pressure and flow match the model.',
      'It does not prove that heads turn, that water lands on the roof, or that it will go on.',
    ],
    ['No data is not good news', 'Unknown means: treat as not protecting until somebody has looked.'],
    [
      'Hot pump',
      'Do not open couplings, refuel hot, or put a can near the exhaust.',
      'A pump turning against shut gates holds water that scalds: keep away and let it cool.',
      'Carbon monoxide, noise and eye hazards.',
      'Keep it off dry duff, on a spill mat.',
    ],
    [
      'Electricity',
      'Water and wires do not mix.',
      'Have the utility isolate.',
      'Keep heads off service drops, panels and generators; solar panels stay live in daylight.',
      'No straight stream onto a line.',
    ],
    ['Gas and fuel tanks', 'Keep clear of them, and of where their relief valves vent.'],
    [
      'Roofs, ladders, gutters',
      'Work at height needs fall protection.',
      'Wet shingle and metal are slick.',
      'In smoke, dark or wind: leave it.',
    ],
    [
      'Water does damage',
      'Basements, foundations, slopes, septic fields, gutters, ice.',
      'Use the least pressure that turns the heads.',
    ],
    ['Hose on the road', 'Never drive over charged hose: mark it, bridge it, keep the way out clear.'],
    [
      'Whose water',
      'Permission, backflow protection, drinking water, fish screens, no carrying of species between waters.',
      'A hydrant may be needed elsewhere.',
    ],
    ['Cold and height', 'Lines left full freeze overnight.', 'High ground costs suction lift and engine power.'],
    [
      'Keep it to yourselves',
      'A plan of empty houses with running pumps is a shopping list.',
      'Show it only to those who need it.',
    ],
    [
      'Simulated runs',
      'Anything simulated carries the word SIMULATION on every screen and record.',
      'If you see it, nothing here is happening.',
    ],
  ])('%s', (title, ...sentences) => expect(said(title)).toBe(sentences.join(' ')));

  it('are these and no others, what it is not first', () => {
    expect(CAUTIONS).toHaveLength(14);
    expect(CAUTIONS.slice(0, 2).map(({ title }) => title)).toEqual(['This only advises', 'It sees no fire']);
  });

  it('nothing flagged is never all well', () => {
    expect(NOTHING_FLAGGED).toBe(
      'Nothing flagged. This does not say that heads turn or that water lands where it should.',
    );
  });
});
