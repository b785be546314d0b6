// Said over odds that are the plan's own, once something was read.
export function AsPlanned({ read, where }: { read: number; where: string }) {
  if (read === 0) return null;
  return <p class="note">The odds below are the plan's, before anything was read. What {read === 1 ? "the reading says" : `${read} readings say`} stands {where}.</p>;
}
