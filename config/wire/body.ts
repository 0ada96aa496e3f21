/**
 * What the bodies of requests are made of: initials, ids, moments, words; and the TypeScript type of a body.
 *
 * A body is defined once, as a typebox schema, which is a JSON schema as it stands: the server checks by it, documents
 * can be made from it, and the type of whoever sends or reads such a body is taken from it. Bounds keep a record
 * readable and judge nothing. Limit: who imports values from here brings the schema library along, so that the screen
 * imports types only (a test checks it); limits that it shows are in entry-limits.ts.
 */
import Type, { type Static, type TObject, type TProperties, type TSchema, type TUnsafe } from 'typebox';
import { INITIALS_MAX } from './entry-limits.ts';

type Fixed<Value> = Value extends object ? { readonly [Name in keyof Value]: Fixed<Value[Name]> } : Value;

/** What a schema lets through, as nobody may change it. */
export type Body<Schema extends TSchema> = Fixed<Static<Schema>>;

/** Initials of the person who speaks: no blank at either end. */
export const BY = Type.String({ pattern: `^\\S(.{0,${INITIALS_MAX - 2}}\\S)?$` });

/** Of a part of the layout, of an alarm, of a device. */
export const ID = Type.String({ minLength: 1, maxLength: 200 });

/** Ms since 1970 UTC, up to the end of the year 2099. */
export const MOMENT = Type.Number({ minimum: 0, maximum: 4.1e12 });

/** Words with something to read in them. */
export function words(maxLength: number): ReturnType<typeof Type.String> {
  return Type.String({ pattern: '\\S', maxLength });
}

/** No member is left out, and none that is not known is let through. */
export function body<Members extends TProperties>(members: Members): TObject<Members> {
  return Type.Object(members, { additionalProperties: false });
}

/** One word of a list, or, with `null` behind it, none. */
export function oneOf<const Words extends readonly (string | null)[]>(list: Words): TUnsafe<Words[number]> {
  return Type.Unsafe<Words[number]>({ enum: [...list] });
}

export function orNull<Schema extends TSchema & { readonly type: string }>(
  schema: Schema,
): TUnsafe<Static<Schema> | null> {
  return Type.Unsafe<Static<Schema> | null>({ ...schema, type: [schema.type, 'null'] });
}

/** One of several bodies; the member `tag` says which, so that a fault is told of that one alone. */
export function taggedBody<const Shapes extends readonly TSchema[]>(
  tag: string,
  shapes: Shapes,
): TUnsafe<Static<Shapes[number]>> {
  return Type.Unsafe<Static<Shapes[number]>>({
    type: 'object',
    required: [tag],
    discriminator: { propertyName: tag },
    oneOf: [...shapes],
  });
}
