"""The border: YAML files in, the packages' own frozen types out, errors at file:line:column."""
