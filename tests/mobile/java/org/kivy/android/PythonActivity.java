package org.kivy.android;

import android.content.ActivityNotFoundException;
import android.content.ContentResolver;
import android.content.Intent;
import java.util.ArrayList;
import java.util.Collections;
import java.util.Iterator;
import java.util.List;

/** Stands for python-for-android's activity: its listeners, and what device.py asks it. */
public class PythonActivity {
    public interface ActivityResultListener {
        void onActivityResult(int requestCode, int resultCode, Intent data);
    }

    public static PythonActivity mActivity = new PythonActivity();

    public boolean opensNothing = false;
    private final ContentResolver resolver = new ContentResolver();
    private final List<ActivityResultListener> listeners =
            Collections.synchronizedList(new ArrayList<ActivityResultListener>());

    public void registerActivityResultListener(ActivityResultListener one) {
        listeners.add(one);
    }

    public void unregisterActivityResultListener(ActivityResultListener one) {
        listeners.remove(one);
    }

    public int listening() {
        return listeners.size();
    }

    public ContentResolver getContentResolver() {
        return resolver;
    }

    public void startActivityForResult(Intent intent, int requestCode) {
        if (opensNothing) throw new ActivityNotFoundException(intent.action);
    }

    /** Goes through the listeners with an iterator, as the original does. */
    public void comesBack(int requestCode, int resultCode, Intent intent) {
        synchronized (listeners) {
            Iterator<ActivityResultListener> all = listeners.iterator();
            while (all.hasNext()) all.next().onActivityResult(requestCode, resultCode, intent);
        }
    }
}
