/** How long the words of an entry may be: known to the schema and to the screen alike. */

/** Signs of initials. */
export const INITIALS_MAX = 16;
/** Signs of a note, of why an alarm is put on the shelf, of what is told of a find. */
export const NOTE_MAX = 500;
export const WHY_MAX = 120;
export const FIND_WORDS_MAX = 1_000;
