import { ConfigError } from "./config.js";

const SECOND_SIGNAL_CODE = 130;

/** Ctrl-C or a stop from outside ends cleanly; a second one does not wait. */
export function onStop(end: () => Promise<void>): void {
  let isEnding = false;
  const stop = (): void => {
    if (isEnding) process.exit(SECOND_SIGNAL_CODE);
    isEnding = true;
    end().then(
      () => process.exit(0),
      (error: unknown) => {
        process.stderr.write(`${error instanceof Error ? error.stack : String(error)}\n`);
        process.exit(4);
      },
    );
  };
  process.on("SIGINT", stop);
  process.on("SIGTERM", stop);
}

/** Runs a program's main function; what the surroundings are at fault for is said in a line. */
export function runMain(main: () => Promise<void>): void {
  main().catch((error: NodeJS.ErrnoException) => {
    const isOutside =
      error instanceof ConfigError ||
      error.name === "FormatTooNew" ||
      error.name === "HalfRestored" ||
      /^E[A-Z]+$/.test(error.code ?? "") ||
      error.name === "StoreUnavailable";
    process.stderr.write(`${isOutside ? error.message : (error.stack ?? error.message)}\n`);
    process.exit(isOutside ? 2 : 4);
  });
}
