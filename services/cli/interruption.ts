/** Ctrl-C once: stop and keep; twice: end. */
export function interruption(): { signal: AbortSignal; release: () => void } {
  const controller = new AbortController();
  const onInterrupt = (): void => {
    if (controller.signal.aborted) process.exit(130);
    controller.abort();
  };
  process.on("SIGINT", onInterrupt);
  return { signal: controller.signal, release: () => process.off("SIGINT", onInterrupt) };
}
