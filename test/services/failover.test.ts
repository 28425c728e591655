import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { RedisStore } from "../../services/store/redis.js";
import { StoreUnavailable } from "../../services/store/store.js";
import { build } from "../support/built.js";
import { Cluster, Line, pause } from "../support/cluster.js";
import { TestRedis } from "../support/redis.js";

/**
 * A Redis with a replica that takes over when it dies, two real servers and lines between them: the replica may be behind at that moment. Processes reach the
 * primary by one address, which is turned to the replica, as a name or a proxy would be.
 */
const LONG = process.env.DECKSHELF_LONG === "1";
const SEED = Number(process.env.DECKSHELF_SEED ?? 1);
const WITH_ONE = { DECKSHELF_REDIS_REPLICAS: "1" };

beforeAll(build, 120_000);

describe("a commit on a Redis with a replica", { timeout: 60_000 }, () => {
  let primary: TestRedis;
  let replica: TestRedis;
  let between: Line;
  beforeAll(async () => {
    [primary, replica] = await Promise.all([TestRedis.start(), TestRedis.start()]);
    between = await new Line(primary.port).open();
    await replica.follow(between.port);
  }, 60_000);
  afterAll(async () => {
    between.close();
    await Promise.all([primary.remove(), replica.remove()]);
  });
  const put = (key: string): { checks: []; puts: { key: string; value: string }[]; deletes: [] } => ({
    checks: [],
    puts: [{ key, value: "1" }],
    deletes: [],
  });

  it("is answered once the replica has it, when it is to wait; refused while the replica is away; and done once", async () => {
    const sure = new RedisStore(primary.url, "one", 1);
    const quick = new RedisStore(primary.url, "one");
    const there = new RedisStore(replica.url, "one");
    expect(await sure.commit(put("a"))).toMatchObject({ revision: 1 });
    expect(await there.get("a")).toMatchObject({ revision: 1 });
    between.cut("hanging");
    // This is what is lost when the primary dies now.
    expect(await quick.commit(put("b"))).toMatchObject({ revision: 2 });
    expect(await there.get("b")).toBeUndefined();
    await expect(sure.commit(put("c"))).rejects.toThrow(StoreUnavailable);
    await expect(sure.ping()).rejects.toThrow("0 of 1 replicas");
    await expect(sure.sure()).rejects.toThrow(StoreUnavailable);
    await quick.sure();
    // What is read does not wait.
    expect(await sure.get("b")).toMatchObject({ revision: 2 });
    between.mend();
    let isAway = true;
    for (let tries = 0; tries < 100 && isAway; tries++) {
      isAway = false;
      await sure.ping().catch(() => {
        isAway = true;
      });
    }
    expect(await there.get("c")).toMatchObject({ revision: 3 });
    expect(await sure.commit(put("d"))).toMatchObject({ revision: 4 });
    expect(await quick.dangers()).toEqual([expect.stringMatching(/DECKSHELF_REDIS_REPLICAS is 0/)]);
    expect(await sure.dangers()).toEqual([]);
    await Promise.all([sure.close(), quick.close(), there.close()]);
  });
});

describe("a replica takes over", { timeout: LONG ? 3_600_000 : 300_000 }, () => {
  let cluster: Cluster;
  let replica: TestRedis;
  let between: Line;
  beforeAll(async () => {
    cluster = await Cluster.start({ apis: 0, workers: 0 }, SEED);
    replica = await TestRedis.start();
    between = await new Line(cluster.redis.port).open();
    await replica.follow(between.port);
    const env = { ...WITH_ONE, REDIS_URL: `redis://127.0.0.1:${cluster.line.port}` };
    for (let i = 0; i < 2; i++) {
      await cluster.startApi(env);
      await cluster.startWorker(env);
    }
  }, 180_000);
  afterAll(async () => {
    between.close();
    await cluster.stop();
    await replica.remove();
  });

  it("that was behind when the primary died, again and again: nothing that was accepted is lost", async () => {
    const trials = LONG ? 40 : 2;
    let done = 0;
    let begunAgain = 0;
    for (let trial = 0; trial < trials; trial++) {
      const before = cluster.work(5, 600);
      await pause(cluster.below(500));
      between.cut("hanging");
      const behind = cluster.work(4, 600);
      await pause(100 + cluster.below(600));
      const dead = cluster.redis;
      await dead.kill();
      await replica.takeOver();
      cluster.line.turnTo(replica.port);
      cluster.redis = replica;
      // The dead one comes back as the replica, and forgets what only it knew.
      between.close();
      between = await new Line(replica.port).open();
      await dead.up();
      await dead.follow(between.port);
      replica = dead;
      const ids = [...(await before), ...(await behind)];
      await cluster.settle(ids);
      const found = await cluster.inspect(ids);
      done += found.jobs;
      begunAgain += found.begunAgain;
    }
    console.log(
      `Redis killed, its replica takes over: ${trials} trials, ${done} commands accepted, ${done} done, 0 lost, 0 done twice, ${begunAgain} begun again by another worker`,
    );
  });
});
