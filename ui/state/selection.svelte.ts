/** The one thing whose details are open, by its id; null: none. */
class Selection {
  id = $state<string | null>(null);
}

export const selection = new Selection();
