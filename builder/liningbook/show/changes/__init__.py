"""What has changed between two editions, for its reader."""
