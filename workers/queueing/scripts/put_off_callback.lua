-- Try a callback again later.
return redis.call('ZADD', key('callbacks'), 'XX', text(now + a.delay_ms), a.id)
