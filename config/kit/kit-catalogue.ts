/**
 * The kit a layout can name by id: hoses, heads, gates and one pump, each row with the source of its figures.
 *
 * In: an id. Out: a kit row in SI, see kit.ts. 'Assumption' marks a figure that nobody published; 'from memory' one
 * that was recalled and not looked up; such a row carries a wider standard deviation or is meant to be measured first.
 * Limit: new hose loses less than the handbook figures (Fire Technology 2013: most of 86 tests below the published
 * ones), and used hose varies: a baseline corrects it. The pump is invented; a real one is described in the layout
 * file.
 */
import type { GateKit, HeadKit, HoseKit, PumpKit } from './kit.ts';
import { parseQuantity, type Dimension } from '../units.ts';

/** Catalogue figures stay in the unit they were published in, so that they can be checked against the page. */
function si(text: string, dimension: Dimension): number {
  const parsed = parseQuantity(text, dimension);
  if (!parsed.ok) throw new Error(`kit catalogue: ${parsed.why}`);
  return parsed.value;
}

const HOSE_SOURCE =
  'Bore at which Hazen-Williams with C = 140 gives the driver-operator handbook coefficient FL = C ' +
  '(Q/100)^2 (L/100), ' +
  'psi, US gpm, ft; wave speed an assumption within 100-400 m/s; burst pressure from memory';

interface HoseRow {
  readonly id: string;
  readonly label: string;
  readonly bore: string;
  readonly burst: string;
  readonly coefficient: string;
}

function linedHose(row: HoseRow): HoseKit {
  return {
    id: row.id,
    label: row.label,
    boreM: si(row.bore, 'length'),
    friction: { law: 'hazen-williams', c: 140 },
    resistanceSd: 0.1,
    waveSpeedMps: 200,
    burstPa: si(row.burst, 'pressure'),
    source: `${HOSE_SOURCE}. ${row.coefficient}`,
  };
}

export const HOSE_KITS: readonly HoseKit[] = [
  linedHose({
    id: 'lined-65',
    label: '65 mm (2 1/2 in) lined',
    bore: '2.612 in',
    burst: '600 psi',
    coefficient: 'Coefficient 2',
  }),
  linedHose({
    id: 'lined-38',
    label: '38 mm (1 1/2 in) lined',
    bore: '1.633 in',
    burst: '600 psi',
    coefficient: 'Coefficient 24',
  }),
  linedHose({
    id: 'lined-25',
    label: '25 mm (1 in) lined',
    bore: '1.152 in',
    burst: '500 psi',
    coefficient: 'Coefficient 150',
  }),
  linedHose({
    id: 'feeder-19',
    label: '19 mm (3/4 in) feeder',
    bore: '0.777 in',
    burst: '300 psi',
    coefficient: 'Coefficient 1100',
  }),
  linedHose({
    id: 'feeder-16',
    label: '16 mm (5/8 in) feeder',
    // 0.777 in x (5/8) / (3/4): the nominal bore ratio carried over to the effective bore.
    bore: '0.6475 in',
    burst: '300 psi',
    coefficient: 'No coefficient published for 5/8 in: scaled from 3/4 in as 1/d^5, 1100 x (6/5)^5 = 2737',
  }),
  {
    id: 'percolating-38',
    label: '38 mm (1 1/2 in) percolating',
    boreM: si('1 1/2 in', 'length'),
    friction: { law: 'coefficient', c: 48 },
    resistanceSd: 0.3,
    waveSpeedMps: 200,
    burstPa: si('450 psi', 'pressure'),
    source:
      'Assumption: twice the lined coefficient 24, after the wildland course rule of 4 psi per 100 ft ' +
      'unlined against 2 lined; ' +
      'the water that weeps through the jacket is not modelled; burst pressure and wave speed assumed',
  },
  {
    id: 'suction-65',
    label: '65 mm (2 1/2 in) rigid suction',
    boreM: si('2 1/2 in', 'length'),
    friction: { law: 'hazen-williams', c: 140 },
    resistanceSd: 0.1,
    waveSpeedMps: 400,
    burstPa: si('150 psi', 'pressure'),
    source:
      'Assumption: smooth plastic at its nominal bore, C of 140-150 for plastic in the EPANET manual; ' +
      'burst and wave speed assumed',
  },
  {
    id: 'suction-50',
    label: '50 mm (2 in) rigid suction',
    boreM: si('2 in', 'length'),
    friction: { law: 'hazen-williams', c: 140 },
    resistanceSd: 0.1,
    waveSpeedMps: 400,
    burstPa: si('150 psi', 'pressure'),
    source:
      'Assumption: smooth plastic at its nominal bore, C of 140-150 for plastic in the EPANET manual; ' +
      'burst and wave speed assumed',
  },
];

/** K of q = K sqrt(p) from one published point, m3/s per sqrt(Pa). */
function dischargeK(flow: string, pressure: string): number {
  return si(flow, 'flow') / Math.sqrt(si(pressure, 'pressure'));
}

const TURNS_SOURCE =
  'Turning range: common practice, no source for the upper end; below about 25 psi the arm of an ' +
  'impact head is too weak';

export const HEAD_KITS: readonly HeadKit[] = [
  {
    id: 'impact-1',
    label: '1 in impact, 1/4 in nozzle',
    family: 'impact',
    k: dischargeK('12.7 USgpm', '50 psi'),
    exponent: 0.5,
    kSd: 0.05,
    turnPaMin: si('30 psi', 'pressure'),
    turnPaMax: si('90 psi', 'pressure'),
    survivesPa: si('200 psi', 'pressure'),
    openBoreM: si('1 in', 'length'),
    openDischargeCoefficient: 0.8,
    throwM: 15,
    light: false,
    source:
      "Flow and throw: a fire department's working figures, 48 L/min and 15 m (trade press 2018); " +
      'equals 29.83 c d^2 sqrt(p) ' +
      `with c = 0.965 (NFPA 291 form). ${TURNS_SOURCE}. Survives: assumption`,
  },
  {
    id: 'impact-3-4',
    label: '3/4 in impact, 7/32 in nozzle',
    family: 'impact',
    k: dischargeK('9.88 USgpm', '50 psi'),
    exponent: 0.5,
    kSd: 0.05,
    turnPaMin: si('25 psi', 'pressure'),
    turnPaMax: si('85 psi', 'pressure'),
    survivesPa: si('200 psi', 'pressure'),
    openBoreM: si('3/4 in', 'length'),
    openDischargeCoefficient: 0.8,
    throwM: 13,
    light: false,
    source:
      'Flow: agricultural extension nozzle table, 7/32 in at 50 psi, given as within 10 %. Throw: ' +
      `assumption. ${TURNS_SOURCE}. Survives: assumption`,
  },
  {
    id: 'impact-1-2',
    label: '1/2 in impact, 5/32 in nozzle',
    family: 'impact',
    k: dischargeK('4.98 USgpm', '50 psi'),
    exponent: 0.5,
    kSd: 0.05,
    turnPaMin: si('25 psi', 'pressure'),
    turnPaMax: si('80 psi', 'pressure'),
    survivesPa: si('200 psi', 'pressure'),
    openBoreM: si('1/2 in', 'length'),
    openDischargeCoefficient: 0.8,
    throwM: si('37 ft', 'length'),
    light: false,
    source:
      'Flow: agricultural extension nozzle table, 5/32 in at 50 psi, given as within 10 %. Throw: ' +
      'university irrigation module, ' +
      `35-44 ft over 35-80 psi. ${TURNS_SOURCE}. Survives: assumption`,
  },
  {
    id: 'rotator-large',
    label: 'large gutter rotator',
    family: 'rotator',
    k: dischargeK('4.5 USgpm', '50 psi'),
    exponent: 0.5,
    kSd: 0.05,
    turnPaMin: si('12 psi', 'pressure'),
    turnPaMax: si('80 psi', 'pressure'),
    survivesPa: si('110 psi', 'pressure'),
    openBoreM: si('3/4 in', 'length'),
    openDischargeCoefficient: 0.8,
    throwM: si('35 ft', 'length'),
    light: true,
    source:
      "Flow, reach and 12-80 psi turning range: structure protection specialist's note on gutter " +
      'heads. Survives and open bore: assumption',
  },
  {
    id: 'rotator-small',
    label: 'small gutter rotator',
    family: 'rotator',
    k: dischargeK('1.8 USgpm', '50 psi'),
    exponent: 0.5,
    kSd: 0.05,
    turnPaMin: si('12 psi', 'pressure'),
    turnPaMax: si('80 psi', 'pressure'),
    survivesPa: si('110 psi', 'pressure'),
    openBoreM: si('1/2 in', 'length'),
    openDischargeCoefficient: 0.8,
    throwM: si('25 ft', 'length'),
    light: true,
    source:
      "Flow, reach and 12-80 psi turning range: structure protection specialist's note on gutter " +
      'heads. Survives and open bore: assumption',
  },
  {
    id: 'spinner',
    label: 'roof spinner',
    family: 'spinner',
    k: dischargeK('2 USgpm', '50 psi'),
    exponent: 0.5,
    kSd: 0.1,
    turnPaMin: si('10 psi', 'pressure'),
    turnPaMax: si('80 psi', 'pressure'),
    survivesPa: si('145 psi', 'pressure'),
    openBoreM: si('1/2 in', 'length'),
    openDischargeCoefficient: 0.8,
    throwM: si('10 ft', 'length'),
    light: true,
    source:
      'Coverage of about 20 ft across: common practice, no source. Flow, turning range, survives and ' +
      'open bore: assumption',
  },
];

export const GATE_KITS: readonly GateKit[] = [
  {
    id: 'thief-25',
    label: '38 mm thief with 25 mm outlet',
    boreM: si('1 in', 'length'),
    openLossFactor: 2,
    source: 'Tee branch 1.8 and open gate 0.2, EPANET manual table of minor losses',
  },
  {
    id: 'wye-38',
    label: '38 mm gated wye',
    boreM: si('1 1/2 in', 'length'),
    openLossFactor: 2,
    source: 'Tee branch 1.8 and open gate 0.2, EPANET manual table of minor losses',
  },
  {
    id: 'gate-38',
    label: '38 mm gate in the run',
    boreM: si('1 1/2 in', 'length'),
    openLossFactor: 0.8,
    source: 'Tee run 0.6 and open gate 0.2, EPANET manual table of minor losses',
  },
];

export const PUMP_KITS: readonly PumpKit[] = [
  {
    id: 'portable-high-pressure',
    label: 'portable high-pressure pump',
    curveFlowM3s: ['0 L/min', '250 L/min', '500 L/min', '700 L/min'].map((text) => si(text, 'flow')),
    curveRisePa: ['1450 kPa', '1250 kPa', '800 kPa', '250 kPa'].map((text) => si(text, 'pressure')),
    ratedRotationHz: si('4200 rpm', 'rotation'),
    curveSd: 0.04,
    fuelUseM3s: si('5 L/h', 'flow'),
    npshRequiredM: 4,
    control: 'throttle',
    source: 'Invented for the demonstration; no real pump',
  },
];

function byId<Row extends { readonly id: string }>(rows: readonly Row[]): ReadonlyMap<string, Row> {
  return new Map(rows.map((row) => [row.id, row]));
}

export const HOSE_KIT_BY_ID = byId(HOSE_KITS);
export const HEAD_KIT_BY_ID = byId(HEAD_KITS);
export const GATE_KIT_BY_ID = byId(GATE_KITS);
export const PUMP_KIT_BY_ID = byId(PUMP_KITS);
