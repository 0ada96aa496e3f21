/** What else a finding could be: another cause at its place, with the odds of it (0..1). */
import type { Cause } from '../../../../config/causes/causes.ts';

export interface Rival {
  readonly cause: Cause;
  readonly subject: string;
  readonly place: string;
  readonly probability: number;
}
