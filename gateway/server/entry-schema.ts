/**
 * The JSON schema of a person's entry, one shape a kind. Nothing is coerced, nothing unknown is let through.
 *
 * Bounds are there to keep a record readable, not to judge: whether a head, a gate or an alarm exists is the core's to
 * say.
 */
import { SIGHTS } from '../../config/causes/causes.ts';
import { MODES } from '../../config/modes.ts';

const BY = { type: 'string', pattern: '^\\S(.{0,14}\\S)?$' };
const ID = { type: 'string', minLength: 1, maxLength: 200 };

function shape(kind: string, properties: Readonly<Record<string, object>>): object {
  return {
    type: 'object',
    additionalProperties: false,
    required: ['kind', 'by', ...Object.keys(properties)],
    properties: { kind: { const: kind }, by: BY, ...properties },
  };
}

export const ENTRY_SCHEMA = {
  type: 'object',
  required: ['kind'],
  discriminator: { propertyName: 'kind' },
  oneOf: [
    shape('baseline', { headsSeenTurning: { type: 'array', items: ID, maxItems: 2_000, uniqueItems: true } }),
    shape('acknowledge', { alarm: ID }),
    shape('shelve', {
      alarm: ID,
      why: { type: 'string', pattern: '\\S', maxLength: 120 },
      minutes: { type: 'number', minimum: 0, maximum: 1_440 },
    }),
    shape('unshelve', { alarm: ID }),
    shape('mode', {
      mode: { enum: [...MODES, null] },
      minutes: { type: 'number', minimum: 0, maximum: 1_440 },
    }),
    shape('gate', { gate: ID, opening: { type: 'number', minimum: 0, maximum: 1 } }),
    shape('looked', { at: ID, found: { enum: SIGHTS } }),
    shape('assign', { device: ID, record: ID, sensor: ID }),
    shape('tare', { sensor: ID }),
    shape('note', { words: { type: 'string', pattern: '\\S', maxLength: 500 } }),
  ],
} as const;
