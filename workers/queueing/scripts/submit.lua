-- Accept a job: idempotency key, quota, record, index, place in line, event - all or nothing.
-- Returns {"accepted", "", messages...}, {"replayed", id}, {"conflict", id}, {"quota", how many} or {"full", ""}.

local job = key('job', a.id)
if redis.call('EXISTS', job) == 1 then return {'accepted', ''} end

if a.idem ~= '' then
  local known = redis.call('HMGET', a.idem, 'job', 'fingerprint')
  if known[1] and redis.call('EXISTS', key('job', known[1])) == 1 then
    if known[2] ~= a.fingerprint then return {'conflict', known[1]} end
    return {'replayed', known[1]}
  end
end

local underway = key('underway', a.owner)
if a.queued_limit >= 0 and redis.call('SCARD', underway) >= a.queued_limit then
  return {'quota', text(redis.call('SCARD', underway))}
end

if is_full() then return {'full', ''} end

if a.idem ~= '' then
  redis.call('HSET', a.idem, 'job', a.id, 'fingerprint', a.fingerprint)
  redis.call('PEXPIRE', a.idem, text(a.idem_ms))
end
redis.call('HSET', job, 'owner', a.owner, 'process', a.process, 'class', a.class, 'status', 'accepted',
  'phase', 'queued', 'queue', a.queue, 'progress', 0, 'message', '', 'created', text(now), 'step', 0,
  'attempts', 0, 'attempts_in_all', 0, 'sends', 0, 'fence', 0, 'token', '', 'done_fence', -1,
  'plan', a.plan, 'subscriber', a.subscriber, 'idem', a.idem)
redis.call('SET', key('steps', a.id), a.steps)
redis.call('ZADD', key('jobs'), text(now), a.id)
redis.call('ZADD', key('jobs', a.owner), text(now), a.id)
redis.call('SADD', underway, a.id)
line_up(a.id, a.queue, a.owner, false)
change(a.id, 'accepted', '')
return {'accepted', '', unpack(hand_out({a.queue}))}
