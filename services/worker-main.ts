import { createServer } from "node:http";
import { Checker } from "./days/checker.js";
import { Days } from "./days/days.js";
import { ConfigError, readConfig } from "./operating/config.js";
import { createLog } from "./operating/log.js";
import { Metrics } from "./operating/metrics.js";
import { onStop, runMain } from "./operating/run.js";
import { openBacking, RunningWorker, startableRelay } from "./server.js";
import { mustKnowFormat } from "./store/open.js";

/** `npm run worker`: solver threads on any machine that reaches Redis. METRICS_PORT serves its numbers and its health. */
runMain(async () => {
  const config = readConfig();
  if (config.redisUrl === undefined) throw new ConfigError("npm run worker needs REDIS_URL; npm start needs no Redis.");
  const log = createLog(process.env.DECKSHELF_LOG === undefined ? "info" : config.logLevel, "worker");
  const backing = openBacking(config);
  await mustKnowFormat(backing.store);
  const metrics = new Metrics(backing.queue);
  const relay = startableRelay(backing, config, log);
  const days = new Days(backing.store, new Checker());
  const worker = new RunningWorker(backing, days, relay, config, log, metrics);
  relay.start();
  const numbers = createServer((request, response) => {
    if (request.url === "/metrics")
      void metrics.registry.metrics().then((text) => {
        response.setHeader("Content-Type", metrics.registry.contentType);
        response.end(text);
      });
    else {
      const isHealth = request.url === "/health/live" || request.url === "/health/ready";
      const ready = request.url === "/health/ready" ? backing.store.ping() : Promise.resolve();
      ready.then(
        () => {
          response.statusCode = isHealth ? 200 : 404;
          response.end(isHealth ? "ok\n" : "nothing here\n");
        },
        () => {
          response.statusCode = 503;
          response.end("the store cannot be reached\n");
        },
      );
    }
  });
  if (config.metricsPort !== undefined) numbers.listen(config.metricsPort, config.host);
  onStop(async () => {
    log.info({ seconds: config.drainSeconds }, "draining");
    await worker.close(config.drainSeconds);
    await relay.close();
    numbers.close();
    await Promise.all([backing.queue.close(), backing.events.close()]);
    await backing.store.close();
  });
  log.info({ threads: config.threads }, "working");
  process.stdout.write("Worker ready\n");
});
