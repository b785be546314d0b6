// Shop: machines, tools, instruments, and every spread with where it comes from.
import { project, unit } from "../../app/state.ts";
import { askShop } from "../../core/client.ts";
import { FaultList } from "../../drawing/faults.tsx";
import { Pieces } from "../../drawing/pieces.tsx";
import { useAsked } from "../../drawing/asked.ts";

export function ShopPage() {
  const { value: shop, faults } = useAsked(() => askShop(unit.value), [unit.value, project.value?.sheets_hash]);
  return (
    <article class="shop">
      {!shop && <h1>Shop</h1>}
      {faults.length > 0 && <div class="faults" role="alert"><FaultList faults={faults} /></div>}
      {shop && <Pieces pieces={shop.pieces} />}
    </article>
  );
}
