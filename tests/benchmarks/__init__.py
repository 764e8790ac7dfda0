"""Speed and memory: ratios against a floor or a peer measured in the same run."""
