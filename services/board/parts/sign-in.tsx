import { useSignal } from "@preact/signals";
import { signInTrouble, signInWith } from "../data/session.js";

/** Where the server wants a token: one field; the server keeps it in a cookie that no script can read. */
export function SignIn({ onIn }: { onIn: () => void }) {
  const secret = useSignal("");
  const isAsking = useSignal(false);
  return (
    <form
      class="card sign-in"
      onSubmit={async (event) => {
        event.preventDefault();
        isAsking.value = true;
        if (await signInWith(secret.value)) onIn();
        isAsking.value = false;
      }}
    >
      <h1>Sign in</h1>
      <p class="quiet">
        This server knows people by tokens. The owner gives them out; each has a role and may be for certain sites only.
      </p>
      <label class="field">
        Token
        <input
          type="password"
          autocomplete="current-password"
          required
          value={secret.value}
          onInput={(event) => {
            secret.value = event.currentTarget.value;
          }}
        />
      </label>
      {signInTrouble.value && (
        <p class="note alarm" role="alert">
          {signInTrouble.value}
        </p>
      )}
      <button type="submit" class="btn main" disabled={isAsking.value}>
        Sign in
      </button>
    </form>
  );
}
