/**
 * Checks that the parts of a layout fit together: names, references, reach of the water, sensors on something.
 *
 * In: a layout as read, possibly with placeholders where a fault was noted. Out: more faults in the book. An empty name
 * is a stand-in whose fault is known already, and is passed over. Limit: geometry is not checked; a hose may be shorter
 * than the distance between its places on the plan.
 */
import type { Layout, Mounting, Quantity } from './layout.ts';
import type { FaultBook } from './layout-fault.ts';
import { suggestion } from '../spelling.ts';

const COLLECTIONS = [
  'sources',
  'pumps',
  'places',
  'hoses',
  'gates',
  'lines',
  'structures',
  'heads',
  'sensors',
] as const;
type Collection = (typeof COLLECTIONS)[number];

export function checkLayout(layout: Layout, book: FaultBook): void {
  checkNames(layout, book);
  checkReferences(layout, book);
  checkReach(layout, book);
  checkLines(layout, book);
  checkSensors(layout, book);
  checkMappings(layout, book);
}

function checkNames(layout: Layout, book: FaultBook): void {
  const first = new Map<string, string>();
  for (const collection of COLLECTIONS) {
    for (const { id } of layout[collection]) {
      const earlier = first.get(id);
      if (earlier === undefined) first.set(id, collection);
      else {
        book.add(
          'layout/duplicate-name',
          `${collection}.${id}`,
          `the name '${id}' is used already under '${earlier}'`,
          'names are unique over the whole site, so that a radio call means one thing: rename one of the two',
        );
      }
    }
  }
}

function checkReferences(layout: Layout, book: FaultBook): void {
  const names = new Map(
    COLLECTIONS.map((collection) => [collection, new Set(layout[collection].map((part) => part.id))]),
  );
  const follow = (collection: Collection, id: string | null, field: string): void => {
    const known = names.get(collection) ?? new Set();
    if (id === null || id === '' || known.has(id)) return;
    const elsewhere = COLLECTIONS.find((other) => names.get(other)?.has(id));
    const problem = elsewhere === undefined ? `there is no '${id}'` : `'${id}' is one of the ${elsewhere}`;
    book.add(
      'layout/unknown-reference',
      field,
      `${problem}; one of the ${collection} is needed`,
      suggestion(id, [...known]),
    );
  };
  for (const pump of layout.pumps) {
    follow('sources', pump.source, `pumps.${pump.id}.source`);
    follow('places', pump.inlet, `pumps.${pump.id}.inlet`);
    follow('places', pump.outlet, `pumps.${pump.id}.outlet`);
  }
  for (const [collection, links] of [
    ['hoses', layout.hoses],
    ['gates', layout.gates],
  ] as const) {
    for (const link of links) {
      follow('places', link.from, `${collection}.${link.id}.from`);
      follow('places', link.to, `${collection}.${link.id}.to`);
      follow('lines', link.line, `${collection}.${link.id}.line`);
      if (link.from !== '' && link.from === link.to) {
        book.add(
          'layout/hose-to-itself',
          `${collection}.${link.id}.to`,
          `'${link.id}' ends where it begins`,
          'name the place at its other end',
        );
      }
    }
  }
  for (const head of layout.heads) {
    follow('places', head.at, `heads.${head.id}.at`);
    follow('lines', head.line, `heads.${head.id}.line`);
    follow('structures', head.structure, `heads.${head.id}.structure`);
  }
  for (const sensor of layout.sensors) {
    follow('lines', sensor.line, `sensors.${sensor.id}.line`);
    const { mounting } = sensor;
    const field = `sensors.${sensor.id}.on.${mounting.kind}`;
    if (mounting.kind === 'place') follow('places', mounting.place, field);
    else if (mounting.kind === 'source') follow('sources', mounting.source, field);
    else if (mounting.kind !== 'air') follow('pumps', mounting.pump, field);
  }
}

/**
 * Places that no chain of hoses and gates, open or shut, joins to a pump: one fault for each separate part of the lay.
 */
function checkReach(layout: Layout, book: FaultBook): void {
  const neighbours = new Map<string, string[]>(layout.places.map((place) => [place.id, []]));
  const links = [...layout.hoses, ...layout.gates];
  for (const link of links) {
    neighbours.get(link.from)?.push(link.to);
    neighbours.get(link.to)?.push(link.from);
  }
  const reached = new Set<string>();
  const walk = (start: string): string[] => {
    const found: string[] = [];
    const waiting = [start];
    for (let place = waiting.pop(); place !== undefined; place = waiting.pop()) {
      if (reached.has(place) || !neighbours.has(place)) continue;
      reached.add(place);
      found.push(place);
      waiting.push(...(neighbours.get(place) ?? []));
    }
    return found;
  };
  // What hangs on a mistyped name is that name's fault, and is not reported a second time as out of reach.
  const mistyped = links.filter((link) => !neighbours.has(link.from) || !neighbours.has(link.to));
  for (const link of mistyped) for (const end of [link.from, link.to]) walk(end);
  for (const pump of layout.pumps) walk(pump.outlet);
  if (layout.pumps.length === 0 || layout.pumps.some((pump) => !neighbours.has(pump.outlet))) return;
  for (const place of layout.places) {
    const part = walk(place.id);
    if (part.length === 0) continue;
    const shown = part.length > 6 ? `${part.slice(0, 6).join(', ')} and ${part.length - 6} more` : part.join(', ');
    const remedy = 'join it to the lay with a hose or a gate, or remove it';
    book.add('layout/no-water-reaches', `places.${place.id}`, `no pump reaches ${shown}`, remedy);
  }
}

function checkLines(layout: Layout, book: FaultBook): void {
  const linesWithHead = new Set(layout.heads.map((head) => head.line));
  for (const { id } of layout.lines) {
    if (linesWithHead.has(id)) continue;
    book.add(
      'layout/line-without-head',
      `lines.${id}`,
      `no head is on '${id}'`,
      `give a head 'line: ${id}', or remove the line`,
    );
  }
  const linesAt = new Map<string, Set<string | null>>();
  const touch = (place: string, line: string | null): void => {
    linesAt.set(place, (linesAt.get(place) ?? new Set()).add(line));
  };
  for (const hose of layout.hoses) for (const end of [hose.from, hose.to]) touch(end, hose.line);
  // A head before the gate would go on running with its line shut.
  for (const gate of layout.gates) touch(gate.to, gate.line);
  const lines = new Set(layout.lines.map((line) => line.id));
  for (const head of layout.heads) {
    const there = linesAt.get(head.at);
    if (!lines.has(head.line) || there === undefined || there.has(head.line)) continue;
    book.add(
      'layout/head-off-its-line',
      `heads.${head.id}.at`,
      `'${head.id}' is on '${head.line}', but '${head.at}' is not behind its gate`,
      "correct 'at' or 'line' here, or give the hose there its 'line'",
    );
  }
}

/** Where each quantity can be measured at all. */
const SPOTS: Readonly<Record<Quantity, readonly Mounting['kind'][]>> = {
  pressure: ['place', 'suction', 'discharge'],
  flow: ['pump'],
  rotation: ['pump'],
  level: ['source'],
  fuel: ['pump'],
  temperature: ['air'],
  pulse: ['place'],
  motion: ['place'],
};

function checkSensors(layout: Layout, book: FaultBook): void {
  const first = new Map<string, string>();
  for (const sensor of layout.sensors) {
    const spots = SPOTS[sensor.quantity];
    const known = !book.isFaulty(`sensors.${sensor.id}.quantity`) && !book.isFaulty(`sensors.${sensor.id}.on`);
    if (known && !spots.includes(sensor.mounting.kind)) {
      book.add(
        'layout/sensor-misplaced',
        `sensors.${sensor.id}.on`,
        `${sensor.quantity} cannot be measured on '${sensor.mounting.kind}'`,
        `mount it on: ${spots.join(', ')}`,
      );
    }
    const address = `${sensor.device}/${sensor.record}`;
    const earlier = first.get(address);
    if (earlier !== undefined) {
      book.add(
        'layout/duplicate-name',
        `sensors.${sensor.id}.record`,
        `record '${sensor.record}' of device '${sensor.device}' already feeds '${earlier}'`,
        'give each channel of a device a record of its own',
      );
    }
    first.set(address, sensor.id);
  }
}

/** SenML name of the SI unit that each quantity is filed in; a ratio is a share of a full tank. */
const FILED_IN: Readonly<Record<Quantity, readonly string[]>> = {
  pressure: ['Pa'],
  flow: ['m3/s'],
  rotation: ['Hz'],
  level: ['m', '/'],
  fuel: ['m3', '/'],
  temperature: ['Cel'],
  pulse: ['Pa'],
  motion: ['m/s2'],
};

/** Only a device that is named can be checked here; the name of another is not known before it speaks. */
function checkMappings(layout: Layout, book: FaultBook): void {
  for (const { id, device, records } of layout.mappings) {
    if (device.kind !== 'named') continue;
    for (const { record, unit } of records) {
      const sensor = layout.sensors.find((one) => one.device === device.device && one.record === record);
      if (!sensor || unit === '' || FILED_IN[sensor.quantity].includes(unit)) continue;
      const problem = `'${record}' of '${device.device}' feeds '${sensor.id}', which measures ${sensor.quantity}`;
      book.add(
        'layout/wrong-dimension',
        `mappings.${id}.records.${record}.unit`,
        problem,
        `give it a unit of ${sensor.quantity}`,
      );
    }
  }
}
