"""What is measured of a matched take: accuracy, tempo, steadiness, evenness, togetherness, flow."""
