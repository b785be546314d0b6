// How far the work has come. No DOM here.
import type { Book, Setup } from "./wire.ts";
import type { Done } from "./record.ts";

export interface Next { setup: Setup; index: number }

// The first step in the order of work that is not done.
export function nextOf(book: Book, done: Map<string, Done>): Next | undefined {
  for (const setup of book.setups) {
    const index = setup.steps.findIndex((step) => !done.has(step.id));
    if (index >= 0) return { setup, index };
  }
  return undefined;
}

export function countDone(setup: Setup, done: Map<string, Done>): number {
  return setup.steps.filter((step) => done.has(step.id)).length;
}

export function setupOf(book: Book, number: number): Setup | undefined {
  return book.setups.find((setup) => setup.number === number);
}

// Setups that this one waits for and that are not done.
export function stillAwaited(book: Book, setup: Setup, done: Map<string, Done>): number[] {
  return setup.waits_for.filter((number) => {
    const other = setupOf(book, number);
    return other !== undefined && countDone(other, done) < other.steps.length;
  });
}
