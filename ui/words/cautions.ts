/** The standing cautions: what the screen is not, and what people on the ground must not take from it. */
export interface Caution {
  readonly title: string;
  readonly words: string;
}

export const CAUTIONS: readonly Caution[] = [
  {
    title: 'This only advises',
    words:
      'Incident command, local codes, the fire service and licensed trades come first. It is no ' +
      'life-safety, fire-detection or warning device. It starts, stops and opens nothing.',
  },
  {
    title: 'It sees no fire',
    words:
      'No fire, wind, falling tree or blocked road shows here. Never go back, stay longer or send ' +
      'anybody because of a reading. No pump and no structure is worth a life.',
  },
  {
    title: "'As modelled' is not 'protected'",
    words:
      'It means that pressure and flow match the model. It does not prove that heads turn, that water ' +
      'lands on the roof, or that it will go on.',
  },
  { title: 'No data is not good news', words: 'Unknown means: treat as not protecting until somebody has looked.' },
  {
    title: 'Hot pump',
    words:
      'Do not open couplings, refuel hot, or put a can near the exhaust. A pump turning against shut ' +
      'gates holds water that scalds: keep away and let it cool. Carbon monoxide, noise and eye ' +
      'hazards. Keep it off dry duff, on a spill mat.',
  },
  {
    title: 'Electricity',
    words:
      'Water and wires do not mix. Have the utility isolate. Keep heads off service drops, panels and ' +
      'generators; solar panels stay live in daylight. No straight stream onto a line.',
  },
  { title: 'Gas and fuel tanks', words: 'Keep clear of them, and of where their relief valves vent.' },
  {
    title: 'Roofs, ladders, gutters',
    words: 'Work at height needs fall protection. Wet shingle and metal are slick. In smoke, dark or wind: leave it.',
  },
  {
    title: 'Water does damage',
    words: 'Basements, foundations, slopes, septic fields, gutters, ice. Use the least pressure that turns the heads.',
  },
  { title: 'Hose on the road', words: 'Never drive over charged hose: mark it, bridge it, keep the way out clear.' },
  {
    title: 'Whose water',
    words:
      'Permission, backflow protection, drinking water, fish screens, no carrying of species between ' +
      'waters. A hydrant may be needed elsewhere.',
  },
  {
    title: 'Cold and height',
    words: 'Lines left full freeze overnight. High ground costs suction lift and engine power.',
  },
  {
    title: 'Keep it to yourselves',
    words: 'A plan of empty houses with running pumps is a shopping list. Show it only to those who need it.',
  },
  {
    title: 'Simulated runs',
    words:
      'Anything simulated carries the word SIMULATION on every screen and record. If you see it, ' +
      'nothing here is happening.',
  },
];

/** What pressure, flow and level cannot show on any site. The gateway adds what holds for this one now. */
export const NOTHING_FLAGGED =
  'Nothing flagged. This does not say that heads turn or that water lands where it should.';
