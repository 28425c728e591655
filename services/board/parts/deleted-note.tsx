import { useSignal } from "@preact/signals";
import { bringBackDay, lastDeleted } from "../data/deleting.js";
import { mayPlan } from "../data/session.js";
import { dayName } from "../logic/new-day.js";
import { opened, spoken } from "../state.js";

/** Says which day is deleted, and brings it back. */
export function DeletedNote() {
  const trouble = useSignal("");
  const isBringing = useSignal(false);
  const deleted = lastDeleted.value;
  if (!deleted) return null;
  const { day, isOwn } = deleted;
  const name = dayName(day.id);
  const bringBack = async (): Promise<void> => {
    isBringing.value = true;
    trouble.value = "";
    try {
      await bringBackDay();
      spoken.value = `${name} is back.`;
    } catch (error) {
      trouble.value = (error as Error).message;
    } finally {
      isBringing.value = false;
    }
  };
  return (
    <div class="note warn deleted">
      <span>
        {isOwn || opened.value?.id !== day.id ? (
          <>
            <b>{name}</b> is deleted.
          </>
        ) : (
          <>
            <b>{name}</b> was deleted on another screen. What this page knows of it can still be looked at, not changed.
          </>
        )}{" "}
        {mayPlan.value && "It can be brought back as long as this page stays open."}
      </span>
      {trouble.value && <span role="alert">{trouble.value}</span>}
      {mayPlan.value && (
        <button type="button" class="btn slim" disabled={isBringing.value} onClick={() => void bringBack()}>
          Bring {name} back
        </button>
      )}
      <button
        type="button"
        class="btn slim bare"
        aria-label="Leave it deleted"
        title="Leave it deleted"
        onClick={() => {
          lastDeleted.value = undefined;
        }}
      >
        ✕
      </button>
    </div>
  );
}
