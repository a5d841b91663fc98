-- Numbers at which nobody can be reached, and messages whose receipt is still to come.

-- On how many different days the network said for good that a message reaches nobody here, with
-- nothing delivered and nothing heard in between; and when it said so last.
ALTER TABLE phone ADD COLUMN failed_days INTEGER DEFAULT 0 NOT NULL;

ALTER TABLE phone ADD COLUMN failed_on TIMESTAMP WITH TIME ZONE;

-- What has left and may still be settled by a receipt.
CREATE INDEX outbox_awaited ON outbox (phone_id, not_after)
WHERE state IN ('submitting', 'uncertain', 'accepted');

-- Receipts that were never matched, to be forgotten in time.
CREATE INDEX receipt_age ON receipt (received_at);
