"""One turn of a conversation by USSD, terminal or page: reads, replies, keeps."""
