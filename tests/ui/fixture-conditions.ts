/** The conditions of the demo site that a screen must be able to show. */
export const CONDITIONS = ['healthy', 'faulty', 'hazard', 'stale', 'filling', 'dry', 'no-advice', 'emergency'] as const;
export type Condition = (typeof CONDITIONS)[number];
