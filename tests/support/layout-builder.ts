/**
 * Builds a layout in a few lines, for tests that need a lay of a known shape and not a site file.
 *
 *   const layout = new LayoutBuilder()
 *     .tank('tank')
 *     .pump('pump', 'tank', 'p0')
 *     .chain(['p0', 'p1'], { lengthM: 30 })
 *     .gate('thief-a', 'p1', 'a0', { line: 'line-a' })
 *     .chain(['a0', 'a1'], { kit: hoseKitOf('lined-25'), lengthM: 20, line: 'line-a' })
 *     .head('h1', 'a1', { line: 'line-a', riseM: 3 })
 *     .lineEnd('end-a', 'a1', 'line-a')
 *     .build();
 *
 * Everything in SI. Places, lines and the structure come into being when first mentioned; places lie at height 0 unless
 * `place` said otherwise before. Nothing is cross-checked here: layout-parser.ts does that for files.
 */
import type { HeadKit, HoseKit, PumpKit } from '../../config/kit/kit.ts';
import { HEAD_KIT_BY_ID, HOSE_KIT_BY_ID, PUMP_KIT_BY_ID } from '../../config/kit/kit-catalogue.ts';
import type {
  Gate,
  Head,
  Hose,
  Layout,
  Line,
  Mounting,
  Place,
  Pump,
  Quantity,
  Sensor,
  Source,
} from '../../config/layout/layout.ts';

type Changes<Part> = Partial<Omit<Part, 'id'>>;

export class LayoutBuilder {
  readonly #places = new Map<string, Place>();
  readonly #lines = new Map<string, Line>();
  readonly #sources: Source[] = [];
  readonly #pumps: Pump[] = [];
  readonly #hoses: Hose[] = [];
  readonly #gates: Gate[] = [];
  readonly #heads: Head[] = [];
  readonly #sensors: Sensor[] = [];

  /** A framed tank of 4 m by 2.5 m and 1 m depth: 10 m3, 0.1 m per m3. */
  tank(id: string, changes: Changes<Source> = {}): this {
    const shape = { kind: 'framed-tank', lengthM: 4, widthM: 2.5, depthM: 1 } as const;
    this.#sources.push({
      id,
      label: id,
      xM: 0,
      yM: 0,
      elevationM: 0,
      shape,
      mains: null,
      usable: 0.9,
      refillS: 600,
      ...changes,
    });
    return this;
  }

  openWater(id: string, changes: Changes<Source> = {}): this {
    return this.tank(id, { shape: { kind: 'open-water' }, usable: 1, ...changes });
  }

  pump(id: string, source: string, outlet: string, changes: Changes<Pump> = {}): this {
    const { elevationM } = this.#placeAt(outlet);
    this.#pumps.push({
      id,
      label: id,
      kit: pumpKitOf('portable-high-pressure'),
      source,
      inlet: null,
      outlet,
      speed: 1,
      holdsPa: null,
      relief: null,
      elevationM,
      suctionHose: hoseKitOf('suction-65'),
      suctionLengthM: 3,
      suctionLossFactor: 4,
      checkValve: true,
      fuelCapacityM3: 0.02,
      refillS: 900,
      ...changes,
    });
    return this;
  }

  place(id: string, elevationM: number, xM = 0, yM = 0): this {
    this.#places.set(id, { id, label: id, xM, yM, elevationM });
    return this;
  }

  /** 30 m of lined 38 mm hose unless changed. */
  hose(id: string, from: string, to: string, changes: Changes<Hose> = {}): this {
    this.#placeAt(from);
    this.#placeAt(to);
    this.#lineAt(changes.line ?? null);
    const kit = hoseKitOf('lined-38');
    this.#hoses.push({
      id,
      label: id,
      kit,
      from,
      to,
      lengthM: 30,
      fittingLossFactor: 0,
      checkValve: false,
      line: null,
      ...changes,
    });
    return this;
  }

  /** One hose from each place to the next, named after its two ends: 'p0-p1'. A loop ends where it began. */
  chain(places: readonly string[], changes: Changes<Hose> = {}): this {
    places.slice(1).forEach((to, index) => this.hose(`${places[index]}-${to}`, places[index] ?? '', to, changes));
    return this;
  }

  gate(id: string, from: string, to: string, changes: Changes<Gate> = {}): this {
    this.#placeAt(from);
    this.#placeAt(to);
    this.#lineAt(changes.line ?? null);
    this.#gates.push({ id, label: id, from, to, boreM: 0.0254, openLossFactor: 2, opening: 1, line: null, ...changes });
    return this;
  }

  /** A 1/2 in impact on 10 m of 16 mm feeder, level with its place unless `riseM` says otherwise. */
  head(id: string, at: string, changes: Changes<Head> & { readonly riseM?: number } = {}): this {
    const { riseM = 0, ...rest } = changes;
    const place = this.#placeAt(at);
    const head: Head = {
      id,
      label: id,
      kit: headKitOf('impact-1-2'),
      at,
      feeder: hoseKitOf('feeder-16'),
      feederLengthM: 10,
      elevationM: place.elevationM + riseM,
      xM: place.xM,
      yM: place.yM,
      line: 'line-a',
      structure: 'house',
      mount: 'ground-spike',
      zone: 'ground',
      arcDeg: 360,
      facingDeg: 0,
      ...rest,
    };
    this.#lineAt(head.line);
    this.#heads.push(head);
    return this;
  }

  /** A channel with 0.1 % noise of a range that suits the quantity. */
  sensor(id: string, quantity: Quantity, mounting: Mounting, changes: Changes<Sensor> = {}): this {
    const [min, max] = RANGES[quantity];
    const noiseSd = (max - min) / 1000;
    this.#sensors.push({
      id,
      label: id,
      quantity,
      mounting,
      line: null,
      device: id,
      record: quantity,
      min,
      max,
      noiseSd,
      offsetSd: noiseSd,
      intervalS: 1,
      ...changes,
    });
    return this;
  }

  lineEnd(id: string, place: string, line: string, changes: Changes<Sensor> = {}): this {
    const ranged = { line, max: 1e6, noiseSd: 3000, offsetSd: 4000, ...changes };
    return this.sensor(id, 'pressure', { kind: 'place', place }, ranged);
  }

  /** What a pump box measures: discharge, suction, flow, speed, each with that name; and the level of the source. */
  pumpBox(pump: string, source: string): this {
    const device = 'pump-box';
    return this.sensor('discharge', 'pressure', { kind: 'discharge', pump }, { device, record: 'discharge' })
      .sensor(
        'suction',
        'pressure',
        { kind: 'suction', pump },
        { device, record: 'suction', min: -1e5, max: 1.5e5, noiseSd: 750, offsetSd: 1000 },
      )
      .sensor('flow', 'flow', { kind: 'pump', pump }, { device })
      .sensor('speed', 'rotation', { kind: 'pump', pump }, { device })
      .sensor('level', 'level', { kind: 'source', source }, { device });
  }

  build(changes: Partial<Layout> = {}): Layout {
    return {
      site: 'test-site',
      name: 'Test site',
      revision: 1,
      fingerprint: '0000000000000000',
      units: 'metric',
      timeZone: 'UTC',
      altitudeM: 0,
      places: [...this.#places.values()],
      sources: [...this.#sources],
      pumps: [...this.#pumps],
      hoses: [...this.#hoses],
      gates: [...this.#gates],
      lines: [...this.#lines.values()],
      heads: [...this.#heads],
      structures: [...new Set(this.#heads.map((head) => head.structure))].map((id) => ({
        id,
        label: id,
        outlineM: SQUARE,
        priority: 1,
      })),
      sensors: [...this.#sensors],
      mappings: [],
      ...changes,
    };
  }

  #placeAt(id: string): Place {
    if (!this.#places.has(id)) this.place(id, 0);
    return this.#places.get(id) as Place;
  }

  #lineAt(id: string | null): void {
    if (id !== null) this.#lines.set(id, { id, label: id });
  }
}

const SQUARE: readonly (readonly [number, number])[] = [
  [0, 0],
  [10, 0],
  [10, 10],
  [0, 10],
];

const RANGES: Readonly<Record<Quantity, readonly [number, number]>> = {
  pressure: [0, 2.5e6],
  flow: [0, 800 / 60_000],
  rotation: [0, 100],
  level: [0, 1],
  fuel: [0, 0.02],
  temperature: [-40, 85],
  pulse: [0, 1e6],
  motion: [-50, 50],
};

export function hoseKitOf(id: string): HoseKit {
  return rowOf(HOSE_KIT_BY_ID, id);
}

export function headKitOf(id: string): HeadKit {
  return rowOf(HEAD_KIT_BY_ID, id);
}

export function pumpKitOf(id: string): PumpKit {
  return rowOf(PUMP_KIT_BY_ID, id);
}

function rowOf<Row>(rows: ReadonlyMap<string, Row>, id: string): Row {
  const row = rows.get(id);
  if (row === undefined) throw new Error(`no kit row '${id}'; known: ${[...rows.keys()].join(', ')}`);
  return row;
}
