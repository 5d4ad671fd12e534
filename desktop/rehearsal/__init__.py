"""The whole job on a simulated deck: nothing here touches real ones."""
