/**
 * Anything of the layout by its id. Ids are unique over the whole site, whatever they name.
 */
import type {
  Gate,
  Head,
  Hose,
  Layout,
  Line,
  Place,
  Pump,
  Sensor,
  Source,
  Structure,
} from '../../config/layout/layout.ts';

export type Thing =
  | { readonly kind: 'head'; readonly item: Head }
  | { readonly kind: 'hose'; readonly item: Hose }
  | { readonly kind: 'gate'; readonly item: Gate }
  | { readonly kind: 'line'; readonly item: Line }
  | { readonly kind: 'pump'; readonly item: Pump }
  | { readonly kind: 'source'; readonly item: Source }
  | { readonly kind: 'structure'; readonly item: Structure }
  | { readonly kind: 'sensor'; readonly item: Sensor }
  | { readonly kind: 'place'; readonly item: Place };

function allThings(layout: Layout): Thing[] {
  return [
    ...layout.sources.map((item): Thing => ({ kind: 'source', item })),
    ...layout.pumps.map((item): Thing => ({ kind: 'pump', item })),
    ...layout.structures.map((item): Thing => ({ kind: 'structure', item })),
    ...layout.lines.map((item): Thing => ({ kind: 'line', item })),
    ...layout.heads.map((item): Thing => ({ kind: 'head', item })),
    ...layout.gates.map((item): Thing => ({ kind: 'gate', item })),
    ...layout.hoses.map((item): Thing => ({ kind: 'hose', item })),
    ...layout.sensors.map((item): Thing => ({ kind: 'sensor', item })),
    ...layout.places.map((item): Thing => ({ kind: 'place', item })),
  ];
}

const books = new WeakMap<Layout, ReadonlyMap<string, Thing>>();

export function thing(layout: Layout, id: string): Thing | null {
  let book = books.get(layout);
  if (!book) {
    book = new Map(allThings(layout).map((one) => [one.item.id, one]));
    books.set(layout, book);
  }
  return book.get(id) ?? null;
}

/** What people call it; the id where nothing is known under it. */
export function labelOf(layout: Layout, id: string): string {
  return id === 'trunk' ? 'trunk' : (thing(layout, id)?.item.label ?? id);
}
