/**
 * Finds the kit a layout names, or reads the kit it describes on the spot.
 *
 * In: a field holding a catalogue id or a map of its own figures. Out: a kit row in SI, see kit.ts; after a fault a row
 * of the catalogue stands in, and the parser drops the layout. A head described on the spot must give its pressure
 * range: without it nothing can be said about whether it turns.
 */
import { isMap } from 'yaml';
import { HEAD_FAMILIES, PUMP_CONTROLS } from '../kit/kit.ts';
import type { GateKit, HeadKit, HoseKit, PumpKit } from '../kit/kit.ts';
import { GATE_KIT_BY_ID, HEAD_KIT_BY_ID, HOSE_KIT_BY_ID, PUMP_KIT_BY_ID } from '../kit/kit-catalogue.ts';
import { POSITIVE, type Section } from './layout-section.ts';
import { suggestion } from '../spelling.ts';
import { parseQuantity } from '../units.ts';

const SITE_SOURCE = 'Given in the site file';

/** Judgement: what a crew writes down from a label or a bucket test is known to about a tenth. */
const SITE_KIT_SD = 0.1;

export function hoseKit(section: Section, name: string): HoseKit {
  return kitOf(section, name, HOSE_KIT_BY_ID, 'lined-38', (own, id) => ({
    id,
    label: own.has('label') ? (own.text('label', 'old canvas hose') ?? '') : id,
    boreM: own.quantity('bore', 'length', '38 mm', POSITIVE),
    friction: frictionLaw(own),
    resistanceSd: own.quantityOr('known-to', 0.2, 'ratio', '20 %', POSITIVE),
    waveSpeedMps: 200,
    burstPa: own.quantity('burst', 'pressure', '2000 kPa', POSITIVE),
    ...weep(own),
    source: SITE_SOURCE,
  }));
}

/** 'weeps: 0.4 L/min at 300 kPa' on each metre. */
function weep(own: Section): Pick<HoseKit, 'weepKPerM'> {
  return own.has('weeps') ? { weepKPerM: pointK(own, 'weeps', '0.4 L/min at 300 kPa') } : {};
}

export function headKit(section: Section, name: string): HeadKit {
  return kitOf(section, name, HEAD_KIT_BY_ID, 'impact-1-2', (own, id) => {
    const kit: HeadKit = {
      id,
      label: own.has('label') ? (own.text('label', '5/8 in impact') ?? '') : id,
      family: own.choice('family', HEAD_FAMILIES) ?? 'impact',
      k: dischargeK(own),
      exponent: 0.5,
      kSd: own.quantityOr('known-to', SITE_KIT_SD, 'ratio', '10 %', POSITIVE),
      turnPaMin: own.quantity('turns-from', 'pressure', '170 kPa', POSITIVE),
      turnPaMax: own.quantity('turns-to', 'pressure', '550 kPa', POSITIVE),
      survivesPa: own.quantity('survives', 'pressure', '1000 kPa', POSITIVE),
      openBoreM: own.quantity('open-bore', 'length', '1/2 in', POSITIVE),
      openDischargeCoefficient: 0.8,
      throwM: own.quantity('throw', 'length', '11 m', POSITIVE),
      light: own.flag('light', false),
      source: SITE_SOURCE,
    };
    if (kit.turnPaMin >= kit.turnPaMax) {
      own.fault(
        'layout/not-rising',
        'turns-to',
        "'turns-to' is not above 'turns-from'",
        'write the lower pressure in turns-from',
      );
    }
    if (kit.survivesPa < kit.turnPaMax) {
      own.fault(
        'layout/not-rising',
        'survives',
        "'survives' is below 'turns-to'",
        'write a pressure of at least turns-to',
      );
    }
    return kit;
  });
}

export function gateKit(section: Section, name: string): GateKit {
  return kitOf(section, name, GATE_KIT_BY_ID, 'thief-25', (own, id) => ({
    id,
    label: id,
    boreM: own.quantity('bore', 'length', '25 mm', POSITIVE),
    openLossFactor: own.number('losses', '2', POSITIVE),
    source: SITE_SOURCE,
  }));
}

export function pumpKit(section: Section, name: string): PumpKit {
  return kitOf(section, name, PUMP_KIT_BY_ID, 'portable-high-pressure', (own, id) => {
    const curve = own.rows('curve', ['flow', 'pressure'], '[[0 L/min, 1450 kPa], [500 L/min, 800 kPa]]', 2);
    const [flows, rises] = [curve.map((row) => row[0] ?? Number.NaN), curve.map((row) => row[1] ?? Number.NaN)];
    requireSteps(own, 'curve', 'flow', flows, 'rising');
    requireSteps(own, 'curve', 'pressure', rises, 'falling');
    return {
      id,
      label: own.has('label') ? (own.text('label', 'station pump') ?? '') : id,
      curveFlowM3s: flows,
      curveRisePa: rises,
      ratedRotationHz: own.quantity('rated-speed', 'rotation', '4200 rpm', POSITIVE),
      curveSd: own.quantityOr('known-to', SITE_KIT_SD, 'ratio', '10 %', POSITIVE),
      fuelUseM3s: own.quantity('fuel-use', 'flow', '5 L/h', POSITIVE),
      npshRequiredM: own.quantity('npsh', 'length', '4 m', POSITIVE),
      control: own.choice('control', PUMP_CONTROLS) ?? 'throttle',
      source: SITE_SOURCE,
    };
  });
}

/** A table that does not go one way has no inverse, and a pump curve that rises has two answers for one pressure. */
export function requireSteps(
  section: Section,
  name: string,
  what: string,
  values: readonly number[],
  way: 'rising' | 'falling',
): void {
  const sign = way === 'rising' ? 1 : -1;
  const at = values.findIndex((value, row) => row > 0 && (value - (values[row - 1] ?? Number.NaN)) * sign <= 0);
  if (at < 0) return;
  section.fault(
    way === 'rising' ? 'layout/not-rising' : 'layout/not-falling',
    `${name}.${at + 1}`,
    `the ${what} in row ${at + 1} is not ${way}`,
    `list the rows so that the ${what} keeps ${way} from row to row`,
  );
}

function kitOf<Kit>(
  section: Section,
  name: string,
  catalogue: ReadonlyMap<string, Kit>,
  example: string,
  describe: (own: Section, id: string) => Kit,
): Kit {
  if (isMap(section.node(name))) {
    const own = section.section(name, example);
    const kit = describe(own, `${section.field.slice(section.field.lastIndexOf('.') + 1)}-kit`);
    own.close();
    return kit;
  }
  const id = section.text(name, example);
  const kit = id === null ? undefined : catalogue.get(id);
  if (kit !== undefined) return kit;
  if (id !== null) {
    const remedy = `${suggestion(id, [...catalogue.keys()])}; or describe the kit here`;
    section.fault('layout/unknown-kit', name, `no kit is called '${id}'`, remedy);
  }
  return [...catalogue.values()][0] as Kit;
}

function frictionLaw(own: Section): HoseKit['friction'] {
  const laws = ['hazen-williams', 'coefficient', 'roughness'].filter((name) => own.has(name));
  const [law] = laws;
  if (law === undefined || laws.length > 1) {
    if (own.readable) {
      own.fault(
        'layout/missing-field',
        'hazen-williams',
        'one friction law is needed, and only one',
        "write 'hazen-williams: 140', 'coefficient: 24' or 'roughness: 0.1 mm'",
      );
    }
    return { law: 'hazen-williams', c: Number.NaN };
  }
  if (law === 'roughness') {
    const colebrook = own.has('factor') && own.choice('factor', ['swamee-jain', 'colebrook']) === 'colebrook';
    return {
      law: 'darcy-weisbach',
      roughnessM: own.quantity(law, 'length', '0.1 mm', POSITIVE),
      ...(colebrook ? { colebrook } : {}),
    };
  }
  const c = own.number(law, law === 'coefficient' ? '24' : '140', POSITIVE);
  return { law: law === 'coefficient' ? 'coefficient' : 'hazen-williams', c };
}

/**
 * K in m3/s per sqrt(Pa), from 'flow: 12.7 USgpm at 50 psi' or 'k: 1.8 USgpm/sqrt(psi)'; a second nozzle adds its own.
 */
function dischargeK(own: Section): number {
  if (own.has('k') && own.has('flow')) {
    own.fault('layout/bad-value', 'k', "'k' and 'flow' say the same thing twice", "leave out 'k' or 'flow'");
  }
  const second = own.has('second-nozzle') ? pointK(own, 'second-nozzle', '3.1 USgpm at 50 psi') : 0;
  return second + (own.has('k') ? unitK(own) : pointK(own, 'flow', '12.7 USgpm at 50 psi'));
}

function pointK(own: Section, name: string, example: string): number {
  const text = own.text(name, example);
  if (text === null) return Number.NaN;
  const [, flow, pressure] = /^(.+?)\s+at\s+(.+)$/.exec(text) ?? [];
  if (flow === undefined || pressure === undefined) return notADischarge(own, name, text, example);
  return (
    own.measure(name, flow, 'flow', example, POSITIVE) /
    Math.sqrt(own.measure(name, pressure, 'pressure', example, POSITIVE))
  );
}

function unitK(own: Section): number {
  const example = '1.8 USgpm/sqrt(psi)';
  const text = own.text('k', example);
  if (text === null) return Number.NaN;
  const [, flow, pressure] = /^(.+?)\s*\/\s*sqrt\s*\(\s*(.+?)\s*\)$/.exec(text) ?? [];
  if (flow === undefined || pressure === undefined) return notADischarge(own, 'k', text, example);
  const unit = parseQuantity(`1 ${pressure}`, 'pressure');
  return (
    own.measure('k', flow, 'flow', example, POSITIVE) /
    Math.sqrt(unit.ok ? unit.value : own.measure('k', `1 ${pressure}`, 'pressure', example))
  );
}

function notADischarge(own: Section, name: string, text: string, example: string): number {
  own.fault('layout/bad-quantity', name, `'${text}' is not a discharge`, `write it such as '${name}: ${example}'`);
  return Number.NaN;
}
