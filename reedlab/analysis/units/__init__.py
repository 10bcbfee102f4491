"""From rated sittings to one number a unit, by code that cannot see the habits."""
