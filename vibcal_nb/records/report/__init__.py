"""The paper of a channel."""
