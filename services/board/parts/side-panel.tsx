import { plan } from "../state.js";
import { pickedTask } from "../timetable/view.js";
import { ChangesCard } from "./changes-card.js";
import { CostCard } from "./cost-card.js";
import { HappeningsCard } from "./happenings-card.js";
import { KitchenNews } from "./kitchen-news.js";
import { SurenessCard } from "./sureness-card.js";
import { WantingCard } from "./wanting-card.js";
import { WayCard } from "./way-card.js";

/** Beside the timetable: the picked task and its whole way, what is late or short, what it costs. */
export function SidePanel() {
  if (!plan.value) return null;
  return (
    <>
      <ChangesCard />
      {pickedTask.value && <WayCard />}
      <KitchenNews />
      <WantingCard />
      <HappeningsCard />
      <SurenessCard />
      <CostCard />
    </>
  );
}
