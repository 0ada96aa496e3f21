/**
 * Names in a layout file: what may be one, labels that fall back on them, and references to other parts.
 *
 * In: a section and a field of it. Out: the text, with a fault noted where it cannot be a name.
 */
import type { Section } from './layout-section.ts';

const NAME = /^[a-z0-9][a-z0-9-]*$/;
export const NAME_REMEDY = 'use small letters a-z, digits and hyphens: it becomes part of topics and file names';

export function isName(text: string): boolean {
  return NAME.test(text);
}

/** What people call it; its id where they do not say. */
export function labelOr(section: Section, otherwise: string): string {
  return section.has('label') ? (section.text('label', 'upper trunk') ?? otherwise) : otherwise;
}

export function referenceOrNull(section: Section, name: string): string | null {
  return section.has(name) ? section.reference(name, 'line-a') : null;
}

/** A name that becomes part of topics; empty after a fault. */
export function nameOf(section: Section, name: string, example: string): string {
  const text = section.text(name, example);
  if (text !== null && !isName(text)) section.fault('layout/bad-name', name, `'${text}' cannot be a name`, NAME_REMEDY);
  return text ?? '';
}
