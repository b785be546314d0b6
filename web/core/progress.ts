// How far the work has come. No DOM here.
import type { Book, Setup } from "./wire.ts";
import { placeKey } from "./record.ts";

// copy: the place of the piece among the setup's.
export interface Next { setup: Setup; copy: number; index: number }

export function firstOpen(setup: Setup, copy: number, done: Set<string>): number {
  const part = setup.copies[copy] ?? "";
  return setup.steps.findIndex((step) => !done.has(placeKey({ step: step.id, part })));
}

// The first step in the order of work that is not done.
export function nextOf(book: Book, done: Set<string>): Next | undefined {
  for (const setup of book.setups) {
    for (let copy = 0; copy < setup.copies.length; ++copy) {
      const index = firstOpen(setup, copy, done);
      if (index >= 0) return { setup, copy, index };
    }
  }
  return undefined;
}

// Steps on pieces.
export function countSteps(setup: Setup): number {
  return setup.steps.length * setup.copies.length;
}
export function countDone(setup: Setup, done: Set<string>): number {
  const doneOn = (part: string): number => setup.steps.filter((step) => done.has(placeKey({ step: step.id, part }))).length;
  return setup.copies.reduce((sum, part) => sum + doneOn(part), 0);
}

export function setupOf(book: Book, number: number): Setup | undefined {
  return book.setups.find((setup) => setup.number === number);
}

// Setups that this one waits for and that are not done.
export function stillAwaited(book: Book, setup: Setup, done: Set<string>): number[] {
  return setup.waits_for.filter((number) => {
    const other = setupOf(book, number);
    return other !== undefined && countDone(other, done) < countSteps(other);
  });
}
