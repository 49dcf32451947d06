"""What sound and film share: telling files apart, the media library, child processes."""
