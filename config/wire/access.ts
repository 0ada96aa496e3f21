/** Who may do what: the roles, and what the lock on the server's addresses asks and answers. */

/** *look* reads; *work* also enters. On a gateway that asks nobody, there is no role. */
export const ROLES = ['look', 'work'] as const;
export type Role = (typeof ROLES)[number];

export const isRole = (name: string): name is Role => (ROLES as readonly string[]).includes(name);

/** Signs of a passphrase that is typed in. */
export const PASSPHRASE_MAX = 200;

/** Answer of `GET /api/access`, open to everybody. */
export interface AccessAnswer {
  /** False on a gateway without passphrases: everything is open, on this machine only. */
  readonly asked: boolean;
  readonly role: Role | null;
}
