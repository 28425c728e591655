import { listTokens } from "./access/tokens.js";
import { loadDemo } from "./demo.js";
import { ConfigError, readConfig } from "./operating/config.js";
import { createLog } from "./operating/log.js";
import { onStop, runMain } from "./operating/run.js";
import { openBacking, RunningServer } from "./server.js";
import { mustKnowFormat } from "./store/open.js";
import { RedisStore } from "./store/redis.js";

/** `npm run api`: one server of many, on a shared Redis. Workers are processes of their own. */
runMain(async () => {
  const config = readConfig();
  if (config.redisUrl === undefined) throw new ConfigError("npm run api needs REDIS_URL; npm start needs no Redis.");
  const log = createLog(process.env.DECKSHELF_LOG === undefined ? "info" : config.logLevel, "api");
  const backing = openBacking(config);
  await mustKnowFormat(backing.store);
  const server = new RunningServer(backing, config, log, false);
  onStop(async () => {
    log.info("ending");
    await server.close(config.drainSeconds);
  });
  const address = await server.listen(config.host, config.port);
  if (backing.store instanceof RedisStore)
    for (const danger of await backing.store.dangers().catch(() => [])) log.warn({ danger }, "Redis may lose data");
  if (process.env.DECKSHELF_DEMO === "on") await loadDemo(server.services.days);
  if (config.needsLogin && (await listTokens(backing.store)).length === 0)
    log.warn("there is no token yet: make one with deckshelf token");
  log.info({ address }, "serving");
  process.stdout.write(`Deck & Shelf: ${address}\n`);
});
