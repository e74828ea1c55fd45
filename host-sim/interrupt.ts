/**
 * What is to be done when the user interrupts (Ctrl-C): the process ends right after it, so each act
 * is short, synchronous and never throws. Commands say what they leave behind.
 */
const acts = new Set<() => void>();

/** Registers an act; gives the function that takes it back when there is nothing to do any more. */
export function atInterrupt(act: () => void): () => void {
  acts.add(act);
  return () => void acts.delete(act);
}

/** Does what was registered; for the end of the process only. */
export function interrupted(): void {
  for (const act of acts) act();
  acts.clear();
}
