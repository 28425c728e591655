/** ARGV: namespace, from, to, limit, "1" for backwards. Answers key, revision, value of each record, flat. */
export const LIST = `
local ns = ARGV[1]
local keys
if ARGV[5] == '1' then keys = redis.call('ZREVRANGEBYLEX', ns .. 'keys', ARGV[3], ARGV[2], 'LIMIT', 0, ARGV[4])
else keys = redis.call('ZRANGEBYLEX', ns .. 'keys', ARGV[2], ARGV[3], 'LIMIT', 0, ARGV[4]) end
local found = {}
for _, key in ipairs(keys) do
  local record = redis.call('HMGET', ns .. 'r:' .. key, 'v', 'd')
  found[#found + 1] = key
  found[#found + 1] = record[1]
  found[#found + 1] = record[2]
end
return found`;
