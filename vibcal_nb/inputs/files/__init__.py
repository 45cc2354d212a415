"""Tables, workbooks, TOML and sampled signals as files hold them."""
