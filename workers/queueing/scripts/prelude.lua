-- What every script begins with: the arguments, the time, and the few moves that several scripts make.
-- ARGV: key prefix; time in ms, or "" for the server's own; arguments as one JSON object.
--
-- Keys, each after the prefix:
--   job:{id}             hash    a job; `phase` is queued, leased or ended
--   steps:{id}           string  its steps with all their inputs
--   ev:{id}              stream  its events
--   jobs, jobs:{owner}   zset    by time of creation
--   underway:{owner}     set     jobs that have not ended: the quota counts these
--   turns:{queue}        list    owners with steps that wait for this queue, next turn first
--   wait:{queue}:{owner} list    their steps, by job
--   sent:{queue}         zset    sent to the broker and not claimed yet, by when to send again
--   leases               zset    steps that run, by when their lease ends
--   expire               zset    ended jobs, by when they are erased
--   callbacks            zset    subscribers to be told, by when;  tries: hash of how often that was tried
--   idem:{...}           hash    what an idempotency key made
--   same:{key}           string  the stage cache
--   art:{digest}         hash    who may see a file: owner -> record;  grants: zset by when that ends
--   stored:{owner}       string  how many bytes an owner keeps
--   gone:{id}            string  erased a short while ago
--   keeper               string  who keeps house

local prefix = ARGV[1]
local a = cjson.decode(ARGV[3])

local function now_ms()
  if ARGV[2] ~= '' then return tonumber(ARGV[2]) end
  local time = redis.call('TIME')
  return tonumber(time[1]) * 1000 + math.floor(tonumber(time[2]) / 1000)
end

local now = now_ms()

local function text(number) return string.format('%.0f', number) end

local function key(...) return prefix .. table.concat({...}, ':') end

local function field(id, name) return redis.call('HGET', key('job', id), name) end

-- New jobs and files are refused before the server is full: steps under way, and their messages, need the rest.
local function is_full()
  local memory = redis.call('INFO', 'memory')
  local most = tonumber(string.match(memory, 'maxmemory:(%d+)'))
  return most > 0 and tonumber(string.match(memory, 'used_memory:(%d+)')) > 0.9 * most
end

-- Every change of a job goes through here: fields set, revision up, watchers woken.
local function change(id, kind, step, ...)
  local job = key('job', id)
  redis.call('HSET', job, 'updated', text(now), ...)
  redis.call('HINCRBY', job, 'revision', 1)
  local state = redis.call('HMGET', job, 'status', 'progress', 'message')
  redis.call('XADD', key('ev', id), 'MAXLEN', '~', 256, '*', 'kind', kind, 'time', text(now),
    'status', state[1], 'progress', state[2], 'message', state[3], 'step', step)
  redis.call('PUBLISH', key('changes'), id)
end

-- Put a job's step in line for its queue. A job under way goes before those that have not begun.
local function line_up(id, queue, owner, in_front)
  redis.call(in_front and 'LPUSH' or 'RPUSH', key('wait', queue, owner), id)
  local turns = key('turns', queue)
  if not redis.call('LPOS', turns, owner) then redis.call('RPUSH', turns, owner) end
end

local function waits_for(id, queue)
  local state = redis.call('HMGET', key('job', id), 'phase', 'queue')
  return state[1] == 'queued' and state[2] == queue
end

-- The broker may lose a message and a slot may be long in coming: send again, ever more rarely.
local function mark_sent(id, queue)
  local sends = redis.call('HINCRBY', key('job', id), 'sends', 1)
  local pause = math.min(a.resend_ms * 2 ^ math.min(sends - 1, 10), a.resend_limit_ms)
  redis.call('ZADD', key('sent', queue), text(now + pause), id)
end

-- Return {queue, id, queue, id, ...} to be sent now: what is due again, then owners in turn while
-- fewer than `depth` messages of the queue are on their way.
local function hand_out(queues)
  local messages = {}
  for _, queue in ipairs(queues) do
    local sent = key('sent', queue)
    for _, id in ipairs(redis.call('ZRANGEBYSCORE', sent, '-inf', text(now), 'LIMIT', 0, 64)) do
      if waits_for(id, queue) then
        mark_sent(id, queue)
        table.insert(messages, queue)
        table.insert(messages, id)
      else
        redis.call('ZREM', sent, id)
      end
    end
    local room = a.depth - redis.call('ZCARD', sent)
    while room > 0 do
      local owner = redis.call('LPOP', key('turns', queue))
      if not owner then break end
      local line = key('wait', queue, owner)
      local id = redis.call('LPOP', line)
      if redis.call('LLEN', line) > 0 then redis.call('RPUSH', key('turns', queue), owner) end
      if id and waits_for(id, queue) and not redis.call('ZSCORE', sent, id) then
        mark_sent(id, queue)
        table.insert(messages, queue)
        table.insert(messages, id)
        room = room - 1
      end
    end
  end
  return messages
end

-- End a job, whichever way.
local function finish(id, status, message, ...)
  local job = redis.call('HMGET', key('job', id), 'owner', 'queue', 'subscriber', 'idem', 'class')
  local keep = job[5] == 'bulk' and a.keep_bulk_ms or a.keep_interactive_ms
  redis.call('ZREM', key('leases'), id)
  redis.call('ZREM', key('sent', job[2]), id)
  redis.call('SREM', key('underway', job[1]), id)
  redis.call('ZADD', key('expire'), text(now + keep), id)
  if job[3] ~= '' then redis.call('ZADD', key('callbacks'), text(now), id) end
  if job[4] ~= '' then redis.call('PEXPIRE', job[4], text(keep), 'GT') end
  change(id, status, '', 'status', status, 'phase', 'ended', 'message', message, 'finished', text(now), ...)
end

local function fail_exhausted(id, attempts)
  finish(id, 'failed', 'given up after ' .. attempts .. ' attempts', 'problem', a.exhausted)
end

-- Forget a job. For a while it is remembered that it was there, and who erased it.
local function erase(id, by)
  local owner = field(id, 'owner')
  redis.call('DEL', key('job', id), key('steps', id), key('ev', id))
  redis.call('ZREM', key('jobs'), id)
  redis.call('ZREM', key('expire'), id)
  redis.call('ZREM', key('callbacks'), id)
  redis.call('HDEL', key('tries'), id)
  if owner then
    redis.call('ZREM', key('jobs', owner), id)
    redis.call('SET', key('gone', id), owner .. '\n' .. by, 'PX', text(a.gone_ms))
  end
  redis.call('PUBLISH', key('changes'), id)
end

-- Let an owner see a file until a time; a longer promise made before holds.
local function grant(owner, until_ms, file)
  local records = key('art', file.digest)
  local known = redis.call('HGET', records, owner)
  local created = now
  if known then
    known = cjson.decode(known)
    created = known.created
    until_ms = math.max(until_ms, known['until'])
  else
    redis.call('INCRBY', key('stored', owner), text(file.size_bytes))
  end
  redis.call('HSET', records, owner, cjson.encode({
    size_bytes = file.size_bytes, media_type = file.media_type, title = file.title,
    created = created, ['until'] = until_ms,
  }))
  redis.call('ZADD', key('grants'), text(until_ms), file.digest .. ' ' .. owner)
end

-- Keep what a step made, for later steps and in nobody's name; and under its key, if it may be used again.
-- The files outlast the key, for whoever has just found it and hands them on a moment later.
local function remember()
  for _, file in pairs(a.made) do grant('', now + a.keep_stage_ms + a.lease_ms, file) end
  if a.cache_key ~= '' then
    redis.call('SET', key('same', a.cache_key), cjson.encode(a.made), 'PX', text(a.keep_stage_ms))
  end
end

local function take_back(owner, digest)
  local records = key('art', digest)
  local known = redis.call('HGET', records, owner)
  redis.call('ZREM', key('grants'), digest .. ' ' .. owner)
  if not known then return 0 end
  redis.call('HDEL', records, owner)
  redis.call('DECRBY', key('stored', owner), text(cjson.decode(known).size_bytes))
  return 1
end
